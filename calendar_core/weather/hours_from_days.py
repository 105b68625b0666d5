"""Hours made from the lowest and highest temperature of each day, for a source that has only days."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.science.year.daylight import solar_noon
from calendar_core.science.year.temperature import hourly
from calendar_core.weather.daily import DailySeries, runs
from calendar_core.weather.hourly import HOUR, HourlySeries

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from calendar_core.weather.daily import FloatArray

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_DAY = timedelta(days=1)


def hours_from_days(days: DailySeries, latitude: float, longitude: float, zone: ZoneInfo) -> HourlySeries:
    """Return the temperature at each hour of UTC within days of a zone, from midnight to midnight.

    The course of a day follows the sun, not the clock; between its hours it is drawn straight, which takes at
    most two tenths of a degree off a warm afternoon. Hours of days that lack a value are NaN, and of all other
    columns nothing is known.

    Raises
    ------
    ValueError
        Where a minimum is above its maximum.

    Source
    ------
    `calendar_core.science.year.temperature.hourly`.
    """
    first, last = (_hour(midnight, zone) for midnight in (days.start, days.end + _DAY))
    at = np.arange(ceil(first), ceil(last))
    start = _EPOCH + ceil(first) * HOUR
    if not len(days):
        return HourlySeries(start, {"t_c": np.empty(0)})
    wider = _one_more_on_either_side(days)
    dates = [wider.start + n * _DAY for n in range(len(wider))]
    noons = [(solar_noon(longitude, day, zone) - _EPOCH) / HOUR for day in dates]
    known_at = np.add.outer(noons, np.arange(24.0) - 12.0).ravel()
    return HourlySeries(start, {"t_c": np.interp(at, known_at, _courses(wider, latitude))})


def _hour(day: date, zone: ZoneInfo) -> float:
    """Return the hours from 1970 to the midnight with which a day begins."""
    return (datetime(day.year, day.month, day.day, tzinfo=zone) - _EPOCH) / HOUR


def _one_more_on_either_side(days: DailySeries) -> DailySeries:
    """Return the days with the first and the last once more: the sun's days begin and end at another hour."""
    return DailySeries(days.start - _DAY, np.pad(days.t_min_c, 1, "edge"), np.pad(days.t_max_c, 1, "edge"))


def _courses(days: DailySeries, latitude: float) -> FloatArray:
    """Return the temperature at 0, 1, ... 23 h solar time of each day, (n_days * 24,)."""
    out = np.full((len(days), 24), np.nan)
    day_of_year = np.array([(days.start + n * _DAY).timetuple().tm_yday for n in range(len(days))])
    for begin, n in zip(*runs(days.measured), strict=True):
        here = slice(begin, begin + n)
        course = hourly(days.t_min_c[here], days.t_max_c[here], latitude, day_of_year[here])
        out[here] = course.reshape(n, 24)
    return out.ravel()
