"""The review in words."""
