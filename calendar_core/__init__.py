"""Leafclock's calendar: from weather, species and a garden's log to dated, explained work."""
