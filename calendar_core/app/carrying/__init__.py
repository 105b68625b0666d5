"""Carrying a garden: out, in, and whole copies."""
