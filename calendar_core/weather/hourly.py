"""HourlySeries: one place's weather hour by hour in UTC, and the days of a zone made from it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Literal

import numpy as np

from calendar_core.weather.daily import DailySeries, FloatArray

if TYPE_CHECKING:
    from collections.abc import Mapping
    from zoneinfo import ZoneInfo

Column = Literal[
    "t_c", "t_low_c", "t_high_c", "dew_point_c", "humidity_percent", "cloud_percent",
    "wind_ms", "gust_ms", "radiation_w_m2", "precipitation_mm", "weather_code",
]  # fmt: skip
Meaning = Literal["instant", "lowest", "highest", "mean", "sum"]

MEANINGS: dict[Column, Meaning] = {
    "t_c": "instant",
    "t_low_c": "lowest",
    "t_high_c": "highest",
    "dew_point_c": "instant",
    "humidity_percent": "instant",
    "cloud_percent": "instant",
    "wind_ms": "instant",
    "gust_ms": "highest",
    "radiation_w_m2": "mean",
    "precipitation_mm": "sum",
    "weather_code": "instant",
}
"""What a value stands for: the instant of its hour, or the hour that ends then. Wind is that at 10 m; the
weather's code is that of WMO table 4677 (WMO-No. 306, Manual on Codes), in which 96 and 99 are hail."""

HOUR = timedelta(hours=1)
ENOUGH_HOURS = 0.9
"""Share of a day's hours that must be there for its extremes to count (common practice: two hours may lack)."""


@dataclass(frozen=True, slots=True, eq=False)
class HourlySeries:
    """Hours of one place from ``start`` (UTC, a whole hour) on; each of ``values`` is (n,), NaN where unknown.

    Raises
    ------
    ValueError
        When ``start`` is not a whole hour of UTC or the columns are not equally long.
    """

    start: datetime
    values: Mapping[Column, FloatArray] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.start.utcoffset() != timedelta(0) or self.start != self.start.replace(
            minute=0, second=0, microsecond=0
        ):
            raise ValueError(f"start is {self.start.isoformat()}; right would be a whole hour of UTC")
        if len({values.shape for values in self.values.values()}) > 1:
            shapes = {name: values.shape for name, values in self.values.items()}
            raise ValueError(f"columns have shapes {shapes}; right would be (n,) for all")

    def __len__(self) -> int:
        return len(next(iter(self.values.values()), ()))

    def __getitem__(self, column: Column) -> FloatArray:
        """Return a column, unknown at all hours if the source does not have it."""
        return self.values.get(column, np.full(len(self), np.nan))


@dataclass(frozen=True, slots=True, eq=False)
class Days:
    """Days of a zone: the extremes of temperature, and precipitation [mm] where all its hours are known."""

    series: DailySeries
    precipitation_mm: FloatArray


def days_of(hourly: HourlySeries, zone: ZoneInfo) -> Days:
    """Return the days of a zone from midnight to midnight, 23 to 25 hours where clocks change.

    The day of an instant is that it lies in; what stands for the hour before belongs to the day of that
    hour's middle. The first and last day may be parts: they count with `ENOUGH_HOURS` of their hours.
    """
    if not len(hourly):
        empty = np.empty(0)
        return Days(DailySeries(hourly.start.astimezone(zone).date(), empty, empty), empty)
    first = (hourly.start - HOUR).astimezone(zone).date()
    last = (hourly.start + (len(hourly) - 1) * HOUR).astimezone(zone).date()
    edges = _midnights(first, last, zone, hourly.start)
    hours = np.arange(len(hourly), dtype=np.float64)
    at, over = (np.searchsorted(edges, h, side="right") - 1 for h in (hours, hours - 0.5))
    n_days = len(edges) - 1
    length = np.diff(edges)
    low = _extreme(np.fmin, n_days, (at, hourly["t_c"]), (over, hourly["t_low_c"]))
    high = _extreme(np.fmax, n_days, (at, hourly["t_c"]), (over, hourly["t_high_c"]))
    known = np.bincount(at[~np.isnan(hourly["t_c"])], minlength=n_days)
    few = known < ENOUGH_HOURS * length
    rain = hourly["precipitation_mm"]
    unknown = np.isnan(rain)
    total = np.bincount(over, weights=np.where(unknown, 0.0, rain), minlength=n_days)
    measured = np.bincount(over[~unknown], minlength=n_days)
    # A day of 23.5 hours has the middles of 23 or 24; one the calendar leaves out has none and stays unknown.
    wanted = np.maximum(np.diff(np.ceil(edges + 0.5)), 1)
    series = DailySeries(first, np.where(few, np.nan, low), np.where(few, np.nan, high))
    return Days(series, np.where(measured < wanted, np.nan, total))


def _midnights(first: date, last: date, zone: ZoneInfo, start: datetime) -> FloatArray:
    """Return the hours from ``start`` to the midnights that bound the days from ``first`` to ``last``."""
    days = [first + timedelta(days=n) for n in range((last - first).days + 2)]
    midnights = [datetime(day.year, day.month, day.day, tzinfo=zone).astimezone(UTC) for day in days]
    return np.array([(midnight - start) / HOUR for midnight in midnights])


def _extreme(
    pick: np.ufunc, n_days: int, *columns: tuple[np.ndarray[tuple[int], np.dtype[np.intp]], FloatArray]
) -> FloatArray:
    out = np.full(n_days, np.nan)
    for day, values in columns:
        pick.at(out, day, values)
    return out
