"""The plan: what is due, what its lines are called, and what speaks against work on a day."""
