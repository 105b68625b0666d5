"""Air of one temperature, in which the moments of a cycle can be worked out by hand."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from calendar_core.planning.seasons.axis import axis_for
from calendar_core.planning.seasons.cycle import Cycle
from calendar_core.planning.works.anchors import limits
from tests.planning.made_up import air_of, profile_of, wave, work_of

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from calendar_core.planning.seasons.air import Air
    from calendar_core.planning.works.anchors import Limit

    Floats = NDArray[np.float64]

CYCLE = 2015
PROFILE = profile_of({"growth_stop": {"day_length": {"below_h": 12.5, "spread_days": 0.001}}})
AXIS = axis_for(45.0, (CYCLE,))
USUAL = wave(AXIS.start, AXIS.n_days)


def air(mean_c: float = 15.0, traces: int = 1) -> Air:
    """Air of one temperature, nights five degrees below, in a climate with a summer and a winter."""
    return air_of(AXIS, np.full((traces, AXIS.n_days), mean_c), climate_c=USUAL)


def stage_on(*days: date) -> Floats:
    """A stage that comes on one day in each trace."""
    return np.array([float(AXIS.index(day)) for day in days])[:, None, None]


def at(air_: Air, **stages: Floats) -> Cycle:
    return Cycle(air_, PROFILE, CYCLE, stages)


def found(cycle: Cycle, **anchor: Any) -> list[Limit]:
    work = work_of(closes=[anchor])
    return limits(work.closes[0], work, cycle)


def days_of(limit: Limit) -> list[date | None]:
    return [AXIS.day(label) if math.isfinite(label) else None for label in limit.labels[:, 0, 0]]


def with_frost(*days: date, mean_c: float = 25.0) -> Air:
    """Warm air with one frost in each trace."""
    out = air(mean_c, len(days))
    for trace, day in enumerate(days):
        if AXIS.index(day) < AXIS.n_days:
            out.t_min_c[trace, AXIS.index(day)] = -1.0
    return out
