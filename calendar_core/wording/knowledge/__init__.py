"""Sentences of what is known: species, what numbers rest on, and the pages about it."""
