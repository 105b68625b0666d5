"""Aftercare: the looks that the log starts, what they foretell, and what to see before a cut."""
