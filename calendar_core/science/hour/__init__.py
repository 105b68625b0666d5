"""An hour: sun, air, leaf, pot, and what they do to one another."""
