"""The commands, one module a subject."""
