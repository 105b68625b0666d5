"""Quality gate for hourly weather: values that cannot be true are left out, each with its reason."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, cast

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from calendar_core.weather.daily import BoolArray, FloatArray, runs
from calendar_core.weather.hourly import HOUR, Column, HourlySeries
from calendar_core.weather.quality import COLDEST_C, HOTTEST_C, Rejected

if TYPE_CHECKING:
    from collections.abc import Sequence

LIMITS: dict[Column, tuple[float, float]] = {
    "t_c": (COLDEST_C, HOTTEST_C),
    "t_low_c": (COLDEST_C, HOTTEST_C),
    "t_high_c": (COLDEST_C, HOTTEST_C),
    "dew_point_c": (COLDEST_C, HOTTEST_C),
    "humidity_percent": (0.0, 104.0),
    "cloud_percent": (0.0, 100.0),
    "wind_ms": (0.0, 113.3),
    "gust_ms": (0.0, 113.3),
    "radiation_w_m2": (0.0, 1361.0),
    "precipitation_mm": (0.0, 305.0),
    "weather_code": (0.0, 99.0),
}
"""What an hour can have. Humidity: up to 104 % counts as saturated (WMO, CBS/OPAG-IOS/ET AWS-1/Doc. 9(2), 2002).
Wind: the gust of Barrow Island, 10 April 1996; rain: Holt, Missouri, 22 June 1947 (WMO, archive of extremes,
from memory). Radiation: the sun outside the atmosphere (Kopp and Lean 2011, Geophys. Res. Lett. 38:L01706)."""

CHANGE_H = (1.0, 2.0, 3.0, 6.0, 12.0)
CHANGE_C = (4.0, 7.0, 9.0, 15.0, 25.0)
"""Change of air temperature tolerated within so many hours (WMO-No. 305, Guide on the Global Data-processing
System, 1993, p. VI.21). Fronts exceed it, but do not come back: a value, or up to `SPIKE_VALUES` in a row, is a
spike where it stands off both neighbours, to the same side, by more than what is tolerated from the one to the
other: 7 degC where both are an hour away."""

SPIKE_VALUES = 3
"""So many values in a row may be wrong together (HadISD, Dunn et al. 2012, Clim. Past 8:1649)."""

RESOLUTION_C = (0.1, 0.5, 1.0)
STUCK_VALUES = (24.0, 30.0, 40.0)
STUCK_HOURS = (168.0, 240.0, 336.0)
"""So many equal values in a row, or so many hours of them, are stuck in a record that tells temperature to so
many degrees (HadISD's check of repeated streaks, same source: a thaw holds whole degrees at 0 for a day)."""

OTHER_SOURCE_C = 10.0
"""Difference from another source, beyond the usual one, that neither the hour nor its neighbours explain: that
of the spatial corroboration check of GHCN-Daily (Durre et al. 2010, J. Appl. Meteorol. Climatol. 49:1615; from
memory). Sea breezes reach it: of the 8730 hours of 2013 up to four between New York's airports."""

OTHER_SOURCE_H = 24
"""Common hours that the usual difference needs: one day, warm hours and cold (common practice)."""


def check_hourly(hourly: HourlySeries, *, other: HourlySeries | None = None) -> list[Rejected]:
    """Return the values that cannot be true, in order of time; each has one reason, the gravest.

    ``other`` is another source's series of the same place, such as a service's beside the own thermometer.
    The first and the last known value have one neighbour only and are no spikes, whatever they are.
    """
    found: list[Rejected] = []
    for column, values in hourly.values.items():
        low, high = LIMITS[column]
        outside = (values < low) | (values > high)
        reasons = [(outside, f"outside limits: right would be {low:g} to {high:g}")]
        if column in ("t_c", "t_low_c", "t_high_c"):
            possible = np.where(outside, np.nan, values)
            spike = _spikes_of_hours(possible)
            reasons += [
                (spike, "spike: right would be a value nearer to those before and after"),
                (_stuck_hours(np.where(spike, np.nan, possible)), "stuck: right would be values that vary"),
            ]
            if other is not None:
                right = f"other source: right would be within {OTHER_SOURCE_C:g} °C of it, their usual difference taken off"
                reasons.append((_apart(hourly, possible, other), right))
        for at in np.flatnonzero(np.logical_or.reduce([mask for mask, _ in reasons])):
            reason = next(text for mask, text in reasons if mask[at])
            found.append(Rejected(hourly.start + int(at) * HOUR, column, float(values[at]), reason))
    return sorted(found, key=lambda rejected: (str(rejected.when), rejected.column))


def without(hourly: HourlySeries, rejected: Sequence[Rejected]) -> HourlySeries:
    """Return the series with rejected values left out (NaN)."""
    kept = {column: values.copy() for column, values in hourly.values.items()}
    for value in rejected:
        if isinstance(value.when, datetime):
            kept[cast("Column", value.column)][(value.when - hourly.start) // HOUR] = np.nan
    return replace(hourly, values=kept)


def _spikes_of_hours(values: FloatArray) -> BoolArray:
    known = np.flatnonzero(~np.isnan(values))
    found = np.zeros(len(values), dtype=bool)
    for n in range(1, min(SPIKE_VALUES, len(known) - 2) + 1):
        before, after = known[: -n - 1], known[n + 1 :]
        tolerated = np.interp(after - before, CHANGE_H, CHANGE_C)
        between = sliding_window_view(values[known[1:-1]], n)
        above = between.min(axis=1) - np.maximum(values[before], values[after]) > tolerated
        below = np.minimum(values[before], values[after]) - between.max(axis=1) > tolerated
        alone = np.flatnonzero((above | below) & (after - before <= CHANGE_H[-1]))
        for k in range(n):
            found[known[1 + alone + k]] = True
    return found


def _stuck_hours(values: FloatArray) -> BoolArray:
    known = np.flatnonzero(~np.isnan(values))
    found = np.zeros(len(values), dtype=bool)
    steps = np.diff(np.unique(np.round(values[known], 2)))
    # Not the least step: one odd value does not make a record fine.
    resolution = float(np.quantile(steps, 0.1)) if steps.size else RESOLUTION_C[0]
    most, longest = (np.interp(resolution, RESOLUTION_C, n) for n in (STUCK_VALUES, STUCK_HOURS))
    for begin, n in zip(*runs(np.diff(values[known]) == 0), strict=True):
        run = known[begin : begin + n + 1]
        if len(run) >= most or run[-1] - run[0] >= longest:
            found[run] = True
    return found


def _apart(hourly: HourlySeries, values: FloatArray, other: HourlySeries) -> BoolArray:
    at = np.arange(-1, len(hourly) + 1) + (hourly.start - other.start) // HOUR
    theirs = np.full(len(at), np.nan)
    inside = (at >= 0) & (at < len(other))
    theirs[inside] = other["t_c"][at[inside]]
    differences = values - theirs[1:-1]
    if np.count_nonzero(~np.isnan(differences)) < OTHER_SOURCE_H:
        return np.zeros(len(values), dtype=bool)
    near = sliding_window_view(theirs, 3) + np.nanmedian(differences)
    low, high = np.fmin.reduce(near, axis=1), np.fmax.reduce(near, axis=1)
    found: BoolArray = (values < low - OTHER_SOURCE_C) | (values > high + OTHER_SOURCE_C)
    return found
