"""Feeding: when a tree is fertilized, how strong, and what makes it wait."""
