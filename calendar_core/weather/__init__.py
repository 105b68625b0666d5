"""Weather by day and hour as arrays, its quality checks, the services it comes from, and the possible years made from it."""
