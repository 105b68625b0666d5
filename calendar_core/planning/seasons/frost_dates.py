"""The last frost of spring and the first of autumn, as distributions over the possible years."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.seasons.members import quantiles
from calendar_core.science.year.stages import last_day

if TYPE_CHECKING:
    from datetime import date

    from calendar_core.planning.items import Range
    from calendar_core.planning.seasons.air import Air

USUAL = 0.5  # a frost that fewer years have has no usual date
SMALL = 0.05  # estimate: below one year in twenty, as frost-free dates of handbooks allow one in ten, a season is over


@dataclass(frozen=True)
class Frost:
    """A frost of this season: when it comes in years that have it, and the chance that it is still to come.

    ``dates`` may begin before today: past their middle, ``chance`` is that of a frost that comes yet.
    """

    dates: Range
    chance: float


def frost_dates(air: Air, today: date) -> dict[str, Frost | None]:
    """Return the last frost of spring and the first of autumn by name, None where frost is rare.

    Each is that of the season under way until one still to come is less likely than one in twenty, then the next.
    Frost is the screen minimum that ``air`` counts as such.
    """
    axis = air.axis
    cycles = range(axis.start.year, axis.day(axis.n_days - 1).year + 1)
    now = axis.index(today)
    out: dict[str, Frost | None] = {"last_spring_frost": None, "first_autumn_frost": None}
    for name, find in (("last_spring_frost", _last), ("first_autumn_frost", _first)):
        for cycle in cycles:
            labels = find(air, cycle)
            if labels is None:
                continue
            has = np.isfinite(labels)
            chance = float((has & (labels >= now)).mean())
            if has.mean() < USUAL or chance < SMALL:
                continue
            dates = axis.ranges(quantiles(labels[None, :, None], has[None, :, None]))[0]
            out[name] = None if dates is None else Frost(dates, chance)
            break
    return out


def _first(air: Air, cycle: int) -> np.ndarray[tuple[int], np.dtype[np.float64]] | None:
    return air.first_frost(cycle) if 0 <= air.axis.midsummer(cycle) < air.axis.n_days else None


def _last(air: Air, cycle: int) -> np.ndarray[tuple[int], np.dtype[np.float64]] | None:
    begin, end = air.axis.midwinter(cycle), air.axis.midsummer(cycle)
    if begin < 0 or end >= air.axis.n_days:
        return None
    return last_day(air.t_min_c <= air.frost_c, begin, end)
