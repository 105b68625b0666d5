"""Sentences of warnings, and of judging and sending them."""
