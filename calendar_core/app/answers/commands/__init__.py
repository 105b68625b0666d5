"""The command that answers, and what it asks in return."""
