"""Cycles: from leaf fall to leaf fall, or from the coldest days on where no leaves fall."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.model import MonthDay

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from calendar_core.garden.model import Garden
    from calendar_core.knowledge.forms.species.profile import Profile

EQUATOR_DEGREES = 5.0  # estimate: within these the coldest days of the mean year are chance


def is_south(latitude: float) -> bool:
    """Tell whether seasons run half a year later; the belt of the equator counts as north."""
    return latitude <= -EQUATOR_DEGREES


def cycle_start(garden: Garden, *, deciduous: bool) -> MonthDay:
    """Return the day of the year on which this kind of tree begins its cycle."""
    return garden.leaf_fall if deciduous else garden.coldest


def cycle_of(day: date, start: MonthDay, *, south: bool) -> int:
    """Return the cycle a day lies in, named by the year of its spring.

    Examples
    --------
    >>> from calendar_core.garden.model import MonthDay
    >>> cycle_of(date(2015, 11, 20), MonthDay(11, 12), south=False)
    2016
    >>> cycle_of(date(2015, 6, 1), MonthDay(5, 20), south=True)
    2015
    >>> cycle_of(date(2015, 5, 1), MonthDay(5, 20), south=True)
    2014
    """
    begun = (day.month, day.day) >= (start.month, start.day)
    names_next_year = not south and start.month >= 7
    if names_next_year:
        return day.year + begun
    return day.year - (not begun)


LOOK_BACK_DAYS = 120  # for so long into a cycle windows of the one before may still be open (winter shelter)


def cycles_at(day: date, start: MonthDay, *, south: bool) -> tuple[int, ...]:
    """Return the cycles to plan on a day: the one it lies in, the next, and early in a cycle the one before.

    Examples
    --------
    >>> from calendar_core.garden.model import MonthDay
    >>> cycles_at(date(2015, 12, 1), MonthDay(11, 12), south=False)
    (2015, 2016, 2017)
    """
    now = cycle_of(day, start, south=south)
    before = cycle_of(day - timedelta(days=LOOK_BACK_DAYS), start, south=south)
    return tuple(range(before, now + 2))


LEAF_FALL_MEAN_C = 7.3  # mean of 15 days at 80 % leaf fall of maples, seven stations (Japan Meteorological Agency normals 1991-2020)
WINDOW_DAYS = 15
COLDEST_DAYS = 30


def cycle_days(climate_c: NDArray[np.float64], latitude: float) -> tuple[MonthDay, MonthDay]:
    """Return the days on which the cycles of deciduous and of all other trees begin.

    Parameters
    ----------
    climate_c : (366,) [degC]
        Daily mean of the mean year by calendar slot, 29 February included.
    latitude : scalar [degrees]

    Returns
    -------
    leaf fall, first of the coldest 30 days
        Where the year never falls to the leaf-fall temperature both are the second; on the equator, where
        no days are coldest for a reason, both are 1 January.
    """
    if abs(latitude) < EQUATOR_DEGREES:
        return MonthDay(1, 1), MonthDay(1, 1)
    coldest = int(np.argmin(_circular_mean(climate_c, COLDEST_DAYS)))
    smooth = np.roll(_circular_mean(climate_c, WINDOW_DAYS), WINDOW_DAYS // 2)
    summer = int(np.argmax(smooth))
    falling = np.roll(smooth, -summer) <= LEAF_FALL_MEAN_C
    fall = (
        (summer + int(falling.argmax())) % climate_c.size if falling.any() and not falling.all() else coldest
    )
    return _month_day(fall), _month_day(coldest)


def _circular_mean(values: NDArray[np.float64], days: int) -> NDArray[np.float64]:
    """Return the mean of ``days`` days beginning at each day of a year that closes on itself."""
    sums = np.cumsum(np.concatenate([[0.0], values, values[:days]]))
    return np.asarray((sums[days:] - sums[:-days])[: values.size] / days)


def _month_day(slot: int) -> MonthDay:
    day = date(2000, 1, 1) + timedelta(days=slot)  # a leap year, as the slots are
    return MonthDay(day.month, min(day.day, 28) if day.month == 2 else day.day)


YEAR_DAYS = 365.25
SEASON_DAYS = YEAR_DAYS / 4  # work further from the middle of its window was out of season (estimate)


def calendar_of(garden: Garden, profile: Profile) -> Calendar:
    """Return how dates of the log fall into cycles for trees of a species."""
    start = cycle_start(garden, deciduous=profile.habit == "deciduous")
    return Calendar(start, south=is_south(garden.latitude))


@dataclass(frozen=True)
class Calendar:
    """How dates of the log fall into cycles for one tree."""

    start: MonthDay
    south: bool

    def cycle(self, day: date) -> int:
        """Return the cycle of a day."""
        return cycle_of(day, self.start, south=self.south)

    def belongs(self, day: date, middles: Iterable[tuple[int, date]]) -> int:
        """Return the cycle that work of a day belongs to: of the window of its operation it is nearest to.

        ``middles`` are the windows' cycles and middle days; they stand for those of earlier years, so many years
        before. What was done out of season, or has no window, is of the cycle of its day.
        """
        best = (SEASON_DAYS, self.cycle(day))
        for cycle, middle in middles:
            days = (middle - day).days
            years = round(days / YEAR_DAYS)
            best = min(best, (abs(days - years * YEAR_DAYS), cycle - years))
        return best[1]

    def next_start(self, day: date) -> date:
        """Return the first day of the cycle after that of a day."""
        begins = day.replace(month=self.start.month, day=self.start.day)
        return begins if begins > day else begins.replace(year=begins.year + 1)
