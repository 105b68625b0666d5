"""DailySeries: one station's lowest and highest air temperature of each day, gaps as NaN."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

SLOTS = 366
"""Places of the calendar: 1 January is slot 0, 29 February slot 59, 31 December slot 365."""

FEB_29 = 59


@dataclass(frozen=True, slots=True, eq=False)
class DailySeries:
    """Daily air temperature of one place.

    ``start`` is the date of element 0; ``t_min_c`` and ``t_max_c`` are (n,) [degC], NaN where nothing was
    measured.

    Raises
    ------
    ValueError
        When the two arrays are not one-dimensional and equally long.
    """

    start: date
    t_min_c: FloatArray
    t_max_c: FloatArray

    def __post_init__(self) -> None:
        if self.t_min_c.ndim != 1 or self.t_min_c.shape != self.t_max_c.shape:
            shapes = f"{self.t_min_c.shape} and {self.t_max_c.shape}"
            raise ValueError(f"t_min_c and t_max_c have shapes {shapes}; right would be (n,) for both")

    def __len__(self) -> int:
        return len(self.t_min_c)

    @property
    def end(self) -> date:
        """The last day; the day before ``start`` when the series is empty."""
        return self.start + timedelta(days=len(self) - 1)

    @property
    def t_mean_c(self) -> FloatArray:
        """Mean of lowest and highest [degC], (n,)."""
        return (self.t_min_c + self.t_max_c) / 2

    @property
    def measured(self) -> BoolArray:
        """True where both values are there, (n,)."""
        return ~np.isnan(self.t_min_c) & ~np.isnan(self.t_max_c)

    @property
    def measured_to(self) -> date | None:
        """The last day with both values."""
        found = np.flatnonzero(self.measured)
        return self.start + timedelta(days=int(found[-1])) if found.size else None

    @property
    def coverage(self) -> float:
        """Share of days with both values, 0 to 1; 0 when empty."""
        return float(self.measured.mean()) if len(self) else 0.0

    def until(self, day: date) -> DailySeries:
        """Return the series up to and including ``day``; nothing later is seen."""
        kept = max(0, min(len(self), (day - self.start).days + 1))
        return DailySeries(self.start, self.t_min_c[:kept], self.t_max_c[:kept])

    def window(self, start: date, end: date) -> DailySeries:
        """Return the days from ``start`` to ``end``, both included; NaN where the series has none."""
        n = max(0, (end - start).days + 1)
        at = np.arange(n) + (start - self.start).days
        inside = (at >= 0) & (at < len(self))
        low, high = np.full(n, np.nan), np.full(n, np.nan)
        low[inside] = self.t_min_c[at[inside]]
        high[inside] = self.t_max_c[at[inside]]
        return DailySeries(start, low, high)


def runs(mask: BoolArray) -> tuple[IntArray, IntArray]:
    """Return first positions and lengths of the runs of True in ``mask``.

    >>> runs(np.array([True, False, True, True]))
    (array([0, 2]), array([1, 2]))
    """
    edges = np.diff(np.concatenate(([0], mask.astype(np.int64), [0])))
    first = np.flatnonzero(edges == 1)
    return first, np.flatnonzero(edges == -1) - first


def fill_short_gaps(series: DailySeries, longest_d: int = 5) -> DailySeries:
    """Bridge inner gaps of at most ``longest_d`` days by a straight line.

    Five days are about the time scale over which daily temperature remembers itself: (1 + r) / (1 - r) with
    the day-to-day correlation r = 0.68 measured in `calendar_core.weather.normals`. A day that lacks one of
    its two values counts as missing, so that both always come from the same day.
    """
    known = series.measured
    first, length = runs(~known)
    inner = (first > 0) & (first + length < len(series)) & (length <= longest_d)
    fill = np.zeros(len(series), dtype=bool)
    for begin, n in zip(first[inner], length[inner], strict=True):
        fill[begin : begin + n] = True
    at = np.arange(len(series))

    def bridged(values: FloatArray) -> FloatArray:
        out = np.where(known, values, np.nan)
        if fill.any():
            out[fill] = np.interp(at[fill], at[known], values[known])
        return out

    return DailySeries(series.start, bridged(series.t_min_c), bridged(series.t_max_c))


def years_and_slots(start: date, n_days: int) -> tuple[IntArray, IntArray]:
    """Return the year and the calendar slot (0 to 365, see `SLOTS`) of ``n_days`` days from ``start``.

    >>> [a.tolist() for a in years_and_slots(date(2015, 2, 28), 2)]
    [[2015, 2015], [58, 60]]
    """
    days = np.datetime64(start, "D") + np.arange(n_days)
    new_year = days.astype("datetime64[Y]")
    year = new_year.astype(np.int64) + 1970
    in_year = (days - new_year.astype("datetime64[D]")).astype(np.int64)
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    return year, in_year + (~leap & (in_year >= FEB_29))
