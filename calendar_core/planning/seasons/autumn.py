"""Autumn by climate: a site's own mean date, and what one year's warmth moves it by."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from calendar_core.science.year.stages import centred_mean, falls_below

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calendar_core.knowledge.forms.species.stages import ClimateFall
    from calendar_core.planning.seasons.air import Air

    Floats = NDArray[np.float64]

SPRING_DAYS = (11, 102)  # April to June, counted from the spring equinox
MONTH_DAYS = 30


def climate_fall_day(air: Air, rule: ClimateFall, cycle: int) -> float:
    """Return the label of a site's own mean date in the autumn of a cycle; inf if its mean year is never so cool."""
    axis, warmest = air.axis, air.warmest(cycle)
    smooth = centred_mean(air.climate_c, rule.window_days)
    fell = falls_below(smooth, rule.mean_c, warmest, min(axis.winter_end(cycle), axis.n_days))
    if smooth[warmest] <= rule.mean_c:  # a summer never so warm: it begins to fall at once
        fell = float(warmest)
    equinox = axis.autumn_equinox(cycle)
    return equinox + rule.slope * (fell - equinox) + rule.offset_days


def anomaly_shift(air: Air, rule: ClimateFall, cycle: int, site: float) -> Floats:
    """Return by how many days the month before and the spring of each trace move a site's date (n_traces,) [d]."""
    anomaly, spring = air.mean_c() - air.climate_c, air.axis.spring_equinox(cycle)
    month = _mean_over(anomaly, int(site) - MONTH_DAYS, int(site))
    quarter = _mean_over(anomaly, spring + SPRING_DAYS[0], spring + SPRING_DAYS[1])
    return np.asarray(rule.autumn_days_per_c * month + rule.spring_days_per_c * quarter)


def _mean_over(values: Floats, start: int, stop: int) -> Floats:
    """Return the mean of columns [start, stop), zero where the axis does not hold them."""
    part = values[:, max(start, 0) : max(stop, 0)]
    return part.mean(axis=1) if part.shape[1] else np.zeros(values.shape[0])
