"""What can be of a garden, its trees and its log: beyond these a number or a day is a slip of the finger."""

from __future__ import annotations

from datetime import date

FIRST, LAST = date(1901, 1, 1), date(2099, 12, 31)
"""Days. The sun's place is reckoned by formulas that hold from 1901 to 2099 (NOAA Global Monitoring Laboratory, solar
calculation details); work before that is of no use to a plan either."""

LOWEST_M, HIGHEST_M = -430.0, 6000.0
"""Height of a garden: the Dead Sea's shore lies at some -430 m, and no woody plant grows above some 5,000 m (from
memory)."""


def possible_height(told_m: float | None) -> float | None:
    """Return a height of a garden as a service tells it [m], None where it tells none that can be."""
    return told_m if told_m is not None and LOWEST_M <= told_m <= HIGHEST_M else None


LARGEST_MM = 20_000.0
"""Height, length or width of a tree or a part of it: no bonsai is taller than 20 m (estimate)."""

LARGEST_POT_L = 1000.0
"""Litres of a pot: more than a cubic metre is carried by no one (estimate)."""

WEAKEST, STRONGEST = 1, 5
"""Vigour, by its own definition."""

MOST_PAIRS = 12
"""Leaf pairs at which shoots are held (estimate)."""

DAY_MIN = 24 * 60
"""Minutes of a day."""
