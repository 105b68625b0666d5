"""The review of a garden: when its rounds are walked, in which walks, what is looked at, and what comes out of it."""
