"""A module for each page."""
