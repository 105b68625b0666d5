"""Load: what a tree bears in a cycle, in which order, and how it recovers."""
