"""The plan: what is due, what its lines are called, what speaks against work on a day, and the season as a picture."""
