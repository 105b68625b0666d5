"""The operations by which trees come to stand elsewhere, and are looked after where they stand."""

INTO, OUT = "shelter in", "shelter out"
UP, DOWN = "shade on", "shade off"
LIGHT, CHECK, MAKE = "more light", "winter check", "winter place"

FEW = ("few_years",)  # what qualifies the reason before it, and is told with it
WHERE_TO = ("goes_to", "warm_room", "cold_room", "no_place")
"""Codes of the reason of a move that says where to."""
