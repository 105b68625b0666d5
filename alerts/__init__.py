"""Warnings from hourly weather; its rooms follow with the hazards."""
