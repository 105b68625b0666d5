"""The place that gardens near to each other share a forecast of."""

from __future__ import annotations

PLACE_DIGITS = 2
"""Decimals of a degree that forecasts are shared by: a kilometre, and no garden's own place."""


def shared_place(latitude: float, longitude: float) -> dict[str, float]:
    """Return the place under which forecasts for a garden are stored.

    >>> shared_place(52.5163, 13.3777)
    {'latitude': 52.52, 'longitude': 13.38}
    """
    return {"latitude": round(latitude, PLACE_DIGITS), "longitude": round(longitude, PLACE_DIGITS)}
