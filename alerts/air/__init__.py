"""The weather of the coming hours that hazards are judged from: what the service told, filled in and spread into courses."""
