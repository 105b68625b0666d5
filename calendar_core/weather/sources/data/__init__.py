"""What the answers of services say, read strictly: one file a service."""
