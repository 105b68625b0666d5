"""The composition root: settings, the one clock, the command line."""
