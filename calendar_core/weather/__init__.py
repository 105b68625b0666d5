"""Daily weather as arrays, its quality checks, and the possible years made from it."""
