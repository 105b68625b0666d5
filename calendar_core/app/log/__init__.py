"""The log: what was done, seen and measured, written down and read again."""
