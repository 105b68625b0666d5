"""The daily axis of a plan: which day is which index, and the turning points of each cycle on it."""

from __future__ import annotations

import math
from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.cycle import is_south
from calendar_core.planning.items import Range
from calendar_core.science.year.daylight import day_length_h

if TYPE_CHECKING:
    from numpy.typing import NDArray

YEAR = 365
HORIZON_DAYS = 426  # fourteen months: every window of a year, with its neighbours


@lru_cache(maxsize=4096)  # members, trees and works of a plan share the days of a few years
def _days_after(start: date, days: int) -> date:
    return start + timedelta(days=days)


@dataclass(frozen=True)
class Axis:
    """Days from ``start`` on at a latitude; the belt of the equator counts as north.

    Clocks of one cycle: chill from 1 November, heat from the winter solstice; half a year later in the south.
    """

    start: date
    n_days: int
    latitude: float

    @property
    def south(self) -> bool:
        """Whether seasons run half a year later."""
        return is_south(self.latitude)

    @cached_property
    def day_length_h(self) -> NDArray[np.float64]:
        """Day length of every day (n_days,) [h]."""
        days = np.datetime64(self.start) + np.arange(self.n_days)
        of_year = (days - days.astype("datetime64[Y]")).astype(int) + 1
        return day_length_h(self.latitude, of_year)

    def index(self, day: date) -> int:
        """Return the index of a day; it may lie outside the axis."""
        return (day - self.start).days

    def day(self, label: float) -> date:
        """Return the date of a label."""
        return _days_after(self.start, math.ceil(label))

    def dates(self, labels: NDArray[np.float64]) -> list[date | None]:
        """Return the dates of labels (n,), None where a label is not finite."""
        return [self.day(label) if math.isfinite(label) else None for label in labels.tolist()]

    def ranges(self, labels: NDArray[np.float64]) -> list[Range | None]:
        """Return the ranges of (3, n) quantiles; those of one moment are finite together."""
        rows = zip(*(self.dates(row) for row in labels), strict=True)
        return [
            Range(early, likely, late) if early and likely and late else None for early, likely, late in rows
        ]

    def _turn(self, north: tuple[int, int, int], south: tuple[int, int, int], cycle: int) -> int:
        years, month, day = south if self.south else north
        return self.index(date(cycle + years, month, day))

    def chill_start(self, cycle: int) -> int:
        """Index of the first day whose chill counts."""
        return self._turn((-1, 11, 1), (0, 5, 1), cycle)

    def midwinter(self, cycle: int) -> int:
        """Index of the winter solstice before the cycle's spring, from which heat counts."""
        return self._turn((-1, 12, 21), (0, 6, 21), cycle)

    def spring_equinox(self, cycle: int) -> int:
        """Index of the equinox in the cycle's spring."""
        return self._turn((0, 3, 21), (0, 9, 21), cycle)

    def autumn_equinox(self, cycle: int) -> int:
        """Index of the equinox in the cycle's autumn."""
        return self._turn((0, 9, 22), (1, 3, 20), cycle)

    def midsummer(self, cycle: int) -> int:
        """Index of the summer solstice of the cycle."""
        return self._turn((0, 6, 21), (0, 12, 21), cycle)

    def frost_year_end(self, cycle: int) -> int:
        """Index after the last day on which a first autumn frost still belongs to the cycle's autumn."""
        return self._turn((1, 1, 1), (1, 7, 1), cycle)

    def winter_end(self, cycle: int) -> int:
        """Index after the last day that the cycle's windows may reach: the end of the winter that follows."""
        return self._turn((1, 3, 1), (1, 9, 1), cycle)

    def calendar(self, month_day: str, cycle: int) -> int:
        """Return the index of a northern month-day in the cycle, read half a year later in the south.

        Days from November on belong to the winter before the cycle's spring.
        """
        month, day = int(month_day[:2]), int(month_day[3:])
        year = cycle - (month >= 11)
        north = date(year, month, min(day, monthrange(year, month)[1]))
        return self.index(north + timedelta(days=182 if self.south else 0))


def axis_for(latitude: float, cycles: tuple[int, ...]) -> Axis:
    """Return an axis that holds the given cycles whole, with the seasons before that their anomalies need."""
    south = is_south(latitude)
    first, last = min(cycles), max(cycles)
    start = date(first - 1, 9, 1) if south else date(first - 1, 3, 1)
    end = date(last + 1, 9, 1) if south else date(last + 1, 3, 1)
    return Axis(start, (end - start).days, latitude)
