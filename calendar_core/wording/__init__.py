"""Sentences: items and reasons are codes and values until this room makes text of them."""
