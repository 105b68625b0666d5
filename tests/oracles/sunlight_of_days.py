"""Sunlight of a day where a published case tells its sunshine or its temperatures instead."""

from __future__ import annotations

import math

RANGE_INLAND = 0.16  # [degC^-0.5] FAO-56 eq. 50, away from a coast


def from_sunshine(sunshine_h: float, day_h: float, top: float) -> float:
    """Return sunlight, in the unit of ``top``, from hours of sunshine in so many hours of day.

    Source: FAO-56 eq. 35 (Angstrom) with its usual 0.25 and 0.50.
    """
    return (0.25 + 0.50 * sunshine_h / day_h) * top


def from_range(t_min_c: float, t_max_c: float, top: float) -> float:
    """Return sunlight, in the unit of ``top``, from how far a day's temperatures lie apart.

    Source: Hargreaves & Samani, FAO-56 eq. 50.
    """
    return RANGE_INLAND * math.sqrt(t_max_c - t_min_c) * top
