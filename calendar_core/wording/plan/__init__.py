"""Sentences of the plan: its season, lines, events, work and what speaks against it."""
