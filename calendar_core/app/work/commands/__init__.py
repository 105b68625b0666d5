"""The commands of work."""
