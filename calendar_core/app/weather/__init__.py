"""Weather: fetched, read, and told."""
