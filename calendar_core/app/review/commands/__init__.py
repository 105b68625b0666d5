"""Commands of the review."""
