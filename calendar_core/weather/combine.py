"""A station's own days with those of a service where it has none, brought to the station's level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calendar_core.weather.daily import DailySeries

SHARED_ENOUGH_D = 30
"""From so many shared days on the difference between two places is believed: a month, in which single days
of 3 degC average out to half a degree (estimate)."""


@dataclass(frozen=True, slots=True)
class LevelDifference:
    """What the own station reads above the service [degC] over ``days`` they share; zero while too few."""

    t_min_c: float
    t_max_c: float
    days: int


NO_DIFFERENCE = LevelDifference(0.0, 0.0, 0)


def difference(own: DailySeries, service: DailySeries) -> LevelDifference:
    """Return the mean difference of the two over the days that both have."""
    if not len(own) or not len(service):
        return NO_DIFFERENCE
    first, last = max(own.start, service.start), min(own.end, service.end)
    mine, theirs = own.window(first, last), service.window(first, last)
    both = mine.measured & theirs.measured
    n = int(both.sum())
    if n < SHARED_ENOUGH_D:
        return LevelDifference(0.0, 0.0, n)
    low, high = mine.t_min_c - theirs.t_min_c, mine.t_max_c - theirs.t_max_c
    return LevelDifference(float(low[both].mean()), float(high[both].mean()), n)


def combined(own: DailySeries, service: DailySeries, level: LevelDifference) -> DailySeries:
    """Return the own days, and the service's at the own level where there is none."""
    if not len(service):
        return own
    first = min(own.start, service.start) if len(own) else service.start
    last = max(own.end, service.end) if len(own) else service.end
    mine, theirs = own.window(first, last), service.window(first, last)
    low = np.where(mine.measured, mine.t_min_c, theirs.t_min_c + level.t_min_c)
    high = np.where(mine.measured, mine.t_max_c, theirs.t_max_c + level.t_max_c)
    return DailySeries(first, np.minimum(low, high), np.maximum(low, high))
