"""Warnings from hourly weather: what threatens, what to do, and who is told."""
