"""The commands of the first day."""
