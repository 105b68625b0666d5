"""Past years as a table by calendar day, and the mean year made from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.weather.daily import FEB_29, SLOTS, DailySeries, FloatArray, IntArray, years_and_slots

if TYPE_CHECKING:
    from datetime import date

DAYS_OF_A_YEAR = 300
"""A past year counts with so many measured days; the rest comes from the other years (about ten months, as
the seasons must be there; an estimate)."""

TREND_YEARS = 15
"""From so many years on a trend is told from chance (as `calendar_core.weather.traces.YEARS_ENOUGH`)."""


@dataclass(frozen=True, slots=True, eq=False)
class Climatology:
    """The mean year: ``t_min_c`` and ``t_max_c`` are (366,) [degC] by calendar slot, 29 February included."""

    t_min_c: FloatArray
    t_max_c: FloatArray

    @property
    def t_mean_c(self) -> FloatArray:
        """Mean of lowest and highest [degC], (366,)."""
        return (self.t_min_c + self.t_max_c) / 2


@dataclass(frozen=True, slots=True, eq=False)
class PastYears:
    """Whole years that end at the anniversaries of one day.

    Row i holds the 366 calendar slots of the year that begins after the anniversary in ``years[i]``;
    ``t_min_c`` and ``t_max_c`` are (n_years, 366) [degC] without gaps.
    """

    years: IntArray
    t_min_c: FloatArray
    t_max_c: FloatArray

    def __len__(self) -> int:
        return len(self.years)


def past_years(measured: DailySeries, today: date, at_most: int = 40) -> PastYears:
    """Cut the series into years that end on ``today`` and its anniversaries, newest last.

    Counting back from ``today`` uses the newest days and keeps the year from here on in one piece. Years with
    fewer than `DAYS_OF_A_YEAR` measured days are left out. ``at_most`` newest years are kept: normals span
    30 years (WMO-No. 1203), more would carry an older climate.
    """
    known = measured.until(today)
    year, slot = years_and_slots(known.start, len(known))
    here = int(years_and_slots(today, 1)[1][0])
    row = year - (slot <= here)
    oldest = int(row.min()) if len(row) else today.year
    n = today.year - oldest
    low, high = np.full((2, n, SLOTS), np.nan)
    ok = known.measured
    low[row[ok] - oldest, slot[ok]] = known.t_min_c[ok]
    high[row[ok] - oldest, slot[ok]] = known.t_max_c[ok]
    enough = np.flatnonzero((~np.isnan(low)).sum(axis=1) >= DAYS_OF_A_YEAR)[-at_most:]
    return PastYears(enough + oldest, _without_gaps(low[enough]), _without_gaps(high[enough]))


def at_the_level_of(past: PastYears, year: int) -> PastYears:
    """Return past years moved along their own warming to the level of ``year``.

    The trend is a straight line through the means of the years, less its share of chance (shrunk by its squared
    standard error over its square), so a few years and a level climate move nothing. Past years as they were are
    too cold by half their span: over 2006 to 2020 at five stations of Japan and Korea frost came two to four
    days after what the 30 years before gave.
    """
    n = len(past)
    if n < TREND_YEARS:
        return past
    mean = ((past.t_min_c + past.t_max_c) / 2).mean(axis=1)
    at = past.years - past.years.mean()
    spread = float((at**2).sum())
    slope = float((at * mean).sum()) / spread
    error = float(((mean - mean.mean() - slope * at) ** 2).sum()) / (n - 2) / spread
    trusted = slope * max(0.0, 1.0 - error / slope**2) if slope else 0.0
    shift = (trusted * (year - past.years))[:, None]
    return PastYears(past.years, past.t_min_c + shift, past.t_max_c + shift)


def _without_gaps(table: FloatArray) -> FloatArray:
    """Give 29 February its day before, then holes the same day of another year, then a straight line."""
    out = table.copy()
    out[:, FEB_29] = np.where(np.isnan(out[:, FEB_29]), out[:, FEB_29 - 1], out[:, FEB_29])
    for shift in range(1, len(table)):
        out = np.where(np.isnan(out), np.roll(table, shift, axis=0), out)
    known = ~np.isnan(out).any(axis=0)
    if not known.all():
        at = np.arange(SLOTS)
        for values in out:
            values[~known] = np.interp(at[~known], at[known], values[known], period=SLOTS)
    return out


def mean_of_slots(slot: IntArray, values: FloatArray) -> FloatArray:
    """Return the mean of ``values`` by calendar slot, (366,); NaN where a slot has no value."""
    ok = ~np.isnan(values)
    count = np.bincount(slot[ok], minlength=SLOTS)
    total = np.bincount(slot[ok], weights=values[ok], minlength=SLOTS)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def smooth_circle(values: FloatArray, window_d: int = 31) -> FloatArray:
    """Return the centred running mean over ``window_d`` days of (366,) values whose end meets their start.

    A month keeps 98.8 % of a yearly sine (sin(x)/x with x = pi * 31 / 365) and lowers the scatter of one
    day's mean by about sqrt(5 / 31), five days being the memory of daily temperature. Days without a value
    are first put on a straight line.
    """
    at, seen = np.arange(SLOTS), ~np.isnan(values)
    whole = np.interp(at, at[seen], values[seen], period=SLOTS)
    half = window_d // 2
    padded = np.concatenate((whole[-half:], whole, whole[:half]))
    return np.convolve(padded, np.full(2 * half + 1, 1 / (2 * half + 1)), mode="valid")
