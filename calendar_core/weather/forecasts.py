"""A forecast as days of the garden, set right by what the station measured, and joined to past years."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.weather.hourly import Column, HourlySeries, days_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from zoneinfo import ZoneInfo

    from calendar_core.weather.daily import DailySeries, FloatArray, IntArray
    from calendar_core.weather.sources.protocol import Forecast

LAPSE_C_PER_M = 0.0065
"""Fall of temperature with height (ISO 2533 standard atmosphere)."""

TRUSTED_AFTER_D = 5.0
"""Days of overlap after which half of the mean difference to the station is believed: about the memory of
daily weather, so that one odd day moves little (estimate)."""

FADES_D = 10.0
"""The correction falls to a third within so many days: where a forecast knows no more than the climate, its
difference of today says no more either (estimate)."""

BLEND_D = 3
"""Over so many last days a forecast gives way to the past year that follows it (estimate)."""

_MOVED: frozenset[Column] = frozenset({"t_c", "t_low_c", "t_high_c", "dew_point_c"})


@dataclass(frozen=True, slots=True, eq=False)
class ForecastDays:
    """Whole days of a forecast in the garden's zone; ``t_min_c`` and ``t_max_c`` are (n_members, n_days) [degC].

    ``issued`` is aware; where it is held against a day it is in the garden's zone too.
    Days of which a member has too few hours are NaN. ``distance_km`` is how far the service's cell lies from
    the garden.
    """

    source: str
    issued: datetime
    start: date
    t_min_c: FloatArray
    t_max_c: FloatArray
    credit: str = ""
    distance_km: float = 0.0

    @property
    def end(self) -> date:
        """The last day that every member has; the day before ``start`` if there is none."""
        known = np.flatnonzero(~np.isnan(self.t_min_c + self.t_max_c).any(axis=0))
        return self.start + timedelta(days=int(known[-1]) if known.size else -1)

    def from_day(self, day: date) -> ForecastDays:
        """Return the days from ``day`` on."""
        skip = max((day - self.start).days, 0)
        start = self.start + timedelta(days=skip)
        return replace(self, start=start, t_min_c=self.t_min_c[:, skip:], t_max_c=self.t_max_c[:, skip:])


def as_days(
    forecast: Forecast, zone: ZoneInfo, elevation_m: float | None, distance_km: float
) -> ForecastDays:
    """Return a forecast as days, moved from the cell's height to the garden's where both are known."""
    days = [days_of(member, zone).series for member in forecast.members]
    start = max(series.start for series in days)
    n_days = min((series.end - start).days for series in days) + 1
    same = [series.window(start, start + timedelta(days=n_days - 1)) for series in days]
    warmer = _warmer_c(forecast, elevation_m)
    return ForecastDays(
        forecast.source, forecast.issued, start,
        np.stack([series.t_min_c for series in same]) + warmer,
        np.stack([series.t_max_c for series in same]) + warmer,
        forecast.credit, distance_km,
    )  # fmt: skip


def as_hours(forecast: Forecast, elevation_m: float | None) -> HourlySeries:
    """Return a forecast's hours, moved from the cell's height to the garden's where both are known.

    They are those of its first member: the only one of a run that has more columns than temperature. The dew
    point moves with the air, so that relative humidity stays what it was.
    """
    hours, warmer = forecast.members[0], _warmer_c(forecast, elevation_m)
    moved = {name: values + warmer if name in _MOVED else values for name, values in hours.values.items()}
    return HourlySeries(hours.start, moved)


def _warmer_c(forecast: Forecast, elevation_m: float | None) -> float:
    """Return by how much the garden is warmer than the cell, for its height alone."""
    if elevation_m is None or forecast.cell.elevation_m is None:
        return 0.0
    return LAPSE_C_PER_M * (forecast.cell.elevation_m - elevation_m)


@dataclass(frozen=True, slots=True)
class Offset:
    """What the station reads above the forecast [degC], over ``days`` they share."""

    t_min_c: float
    t_max_c: float
    days: int


def offset_of(forecast: ForecastDays, measured: DailySeries) -> Offset:
    """Return how far the station reads above the mean of the members, shrunk where few days are shared."""
    n_days = forecast.t_min_c.shape[1]
    if not n_days:
        return Offset(0.0, 0.0, 0)
    here = measured.window(forecast.start, forecast.start + timedelta(days=n_days - 1))
    low = here.t_min_c - forecast.t_min_c.mean(axis=0)
    high = here.t_max_c - forecast.t_max_c.mean(axis=0)
    both = ~np.isnan(low) & ~np.isnan(high)
    n = int(both.sum())
    if not n:
        return Offset(0.0, 0.0, 0)
    trust = n / (n + TRUSTED_AFTER_D)
    return Offset(trust * float(low[both].mean()), trust * float(high[both].mean()), n)


def set_right(forecast: ForecastDays, offset: Offset, today: date) -> ForecastDays:
    """Return the days with the offset added, fading with the lead from ``today``."""
    lead = (forecast.start - today).days + np.arange(forecast.t_min_c.shape[1])
    weight = np.exp(-np.maximum(lead, 0) / FADES_D)
    low, high = forecast.t_min_c + weight * offset.t_min_c, forecast.t_max_c + weight * offset.t_max_c
    return replace(forecast, t_min_c=np.minimum(low, high), t_max_c=np.maximum(low, high))


def members_for(keys: Sequence[int], n_members: int) -> IntArray:
    """Return one member for each trace, spread evenly over them and paired by a hash of the trace's key.

    The pairing does not depend on the order of the keys, which are the past years behind the traces.
    """
    marks = [hashlib.blake2b(str(key).encode(), digest_size=8).digest() for key in keys]
    rank = np.argsort(np.argsort(np.array(marks)))
    return np.asarray(rank * n_members // max(len(keys), 1), dtype=np.int64)


def joined(past: FloatArray, start: date, member_days: FloatArray, first: date) -> FloatArray:
    """Return traces (n_traces, n_days) with each one's forecast days in place of its past year's.

    ``member_days`` (n_traces, n) begin on ``first``; NaN and days outside the traces are left as they are.
    Over the last `BLEND_D` days the forecast gives way to the past year.
    """
    n = member_days.shape[1]
    at = (first - start).days + np.arange(n)
    inside = (at >= 0) & (at < past.shape[1])
    weight = np.minimum((n - np.arange(n)) / (BLEND_D + 1), 1.0)[inside]
    days, before = member_days[:, inside], past[:, at[inside]]
    out = past.copy()
    out[:, at[inside]] = np.where(np.isnan(days), before, weight * days + (1 - weight) * before)
    return out
