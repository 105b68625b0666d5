"""The last frost of spring and the first of autumn, as distributions over the possible years."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.windows import quantiles
from calendar_core.science.stages import last_day

if TYPE_CHECKING:
    from datetime import date

    from calendar_core.planning.air import Air
    from calendar_core.planning.items import Range

USUAL = 0.5  # a frost that fewer years have has no usual date


def frost_dates(air: Air, today: date) -> dict[str, Range | None]:
    """Return the next last frost of spring and first frost of autumn by name, None where frost is rare.

    Frost is the screen minimum that ``air`` counts as such.
    """
    axis = air.axis
    cycles = range(axis.start.year, axis.day(axis.n_days - 1).year + 1)
    now = axis.index(today)
    out: dict[str, Range | None] = {"last_spring_frost": None, "first_autumn_frost": None}
    for name, find in (("last_spring_frost", _last), ("first_autumn_frost", _first)):
        for cycle in cycles:
            labels = find(air, cycle)
            if labels is None:
                continue
            has = np.isfinite(labels)
            if has.mean() < USUAL or np.median(labels[has]) < now:
                continue
            out[name] = axis.ranges(quantiles(labels[None, :, None], has[None, :, None]))[0]
            break
    return out


def _first(air: Air, cycle: int) -> np.ndarray[tuple[int], np.dtype[np.float64]] | None:
    return air.first_frost(cycle) if 0 <= air.axis.midsummer(cycle) < air.axis.n_days else None


def _last(air: Air, cycle: int) -> np.ndarray[tuple[int], np.dtype[np.float64]] | None:
    begin, end = air.axis.midwinter(cycle), air.axis.midsummer(cycle)
    if begin < 0 or end >= air.axis.n_days:
        return None
    return last_day(air.t_min_c <= air.frost_c, begin, end)
