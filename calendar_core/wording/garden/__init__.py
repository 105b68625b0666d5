"""Sentences of the garden: its trees, spots, log, answers, weather, first day, and its carrying."""
