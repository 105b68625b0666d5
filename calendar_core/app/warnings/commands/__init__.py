"""The commands of warnings."""
