"""The commands of the log."""
