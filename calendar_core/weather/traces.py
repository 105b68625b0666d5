"""Traces: possible years. Measured days up to today, then what past years did from here on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from statistics import NormalDist
from typing import TYPE_CHECKING, Literal

import numpy as np

from calendar_core.weather.daily import SLOTS, DailySeries, FloatArray, fill_short_gaps, years_and_slots
from calendar_core.weather.forecasts import (
    LAPSE_C_PER_M,
    ForecastDays,
    Offset,
    joined,
    members_for,
    offset_of,
    set_right,
)
from calendar_core.weather.normals import (
    RANGE_PERSISTENCE,
    RANGE_SPREAD,
    YEAR_SD_C,
    Normals,
    anomaly_sd_c,
    daily_anomalies,
    daily_year,
)
from calendar_core.weather.past_years import (
    Climatology,
    PastYears,
    at_the_level_of,
    mean_of_slots,
    past_years,
    smooth_circle,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

YEARS_ENOUGH = 15
"""From so many past years on each is a trace of its own; below, blocks of them are mixed."""

BLOCK_DAYS = 30
"""Length of a resampled block. The correlation of daily anomalies falls under 0.1 within 8 days (Seattle) to
10 days (Japan, Korea), so a month keeps its spells and its mean, and neighbours are nearly independent."""

PLACE_SD_C = (0.7, 0.005, 4.0)
"""Spread between a place and its normals: 0.7 + 0.005 x km, at most 4 degC. Annual means of the 43 bundled
places of Japan and Korea differ by (root mean square) 0.9 degC at 48 km, 1.2 at 80, 1.6 at 200, 2.2 at 325,
3.2 at 500, 3.6 at 800."""


class TooLittleWeather(ValueError):  # noqa: N818 - says what is wrong, as the message does
    """There is no whole year of measured days to build possible years from."""


@dataclass(frozen=True, slots=True)
class WeatherKnown:
    """What the traces rest on; printed beside every range."""

    kind: Literal["years", "resampled", "normals"]
    years: int
    measured_to: date | None
    place: str
    distance_km: float | None = None
    forecast: ForecastKnown | None = None


@dataclass(frozen=True, slots=True)
class ForecastKnown:
    """The forecast inside the traces: its last day, members, and what the station reads above it [degC]."""

    source: str
    issued: datetime
    to: date
    members: int
    offset: Offset


@dataclass(frozen=True, slots=True)
class Traces:
    """Daily air temperature of possible years, one row a trace.

    ``start`` is the date of column 0; ``t_min_c`` and ``t_max_c`` are (n_traces, n_days) [degC] without gaps.
    """

    start: date
    t_min_c: FloatArray
    t_max_c: FloatArray
    known: WeatherKnown


def make_traces(
    measured: DailySeries,
    *,
    start: date,
    end: date,
    today: date,
    place: str,
    seed: int,
    count: int = 30,
    forecast: ForecastDays | None = None,
) -> Traces:
    """Build possible years from ``start`` to ``end`` from one station's days up to ``today``.

    Every trace shows the measured days (gaps of up to five days bridged). The other days, before and after
    ``today``, come from the past: with `YEARS_ENOUGH` past years or more one trace for each (40 at most, at the level
    of today's climate; ``count`` and ``seed`` have no part in it), otherwise ``count`` traces by block resampling. Days after
    ``today`` in ``measured`` are not looked at. A ``forecast`` comes between: one of its members in each trace.

    Raises
    ------
    TooLittleWeather
        When no year before ``today`` has about ten measured months.
    """
    known = fill_short_gaps(measured.until(today))
    past = past_years(known, today)
    if not len(past):
        days = int(known.measured.sum())
        raise TooLittleWeather(
            f"{place}: {days} measured days up to {today}; right would be a whole year of daily weather, "
            "or the climate normals of a bundled place"
        )
    n_days = (end - start).days + 1
    if len(past) >= YEARS_ENOUGH:
        kind: Literal["years", "resampled"] = "years"
        low, high = _each_year(at_the_level_of(past, today.year), start, n_days, today)
        keys: Sequence[int] = past.years.tolist()
    else:
        kind = "resampled"
        low, high = _resampled(past, start, n_days, seed, count)
        keys = range(count)
    about = WeatherKnown(kind, len(past), known.measured_to, place)
    traces = with_forecast(Traces(start, low, high, about), forecast, known, today, keys)
    return _with_measured(traces, known)


def traces_from_normals(
    normals: Normals,
    *,
    start: date,
    end: date,
    today: date,
    seed: int,
    count: int = 30,
    distance_km: float,
    measured: DailySeries | None = None,
    elevation_m: float | None = None,
    forecast: ForecastDays | None = None,
) -> Traces:
    """Build ``count`` possible years from the monthly normals of a place ``distance_km`` away.

    Mean year, plus first-order autoregressive days, plus one offset for each trace: the year's own and the
    uncertainty of the place, which grows with distance. ``elevation_m`` of the garden, where both heights are
    known, moves all by the standard lapse rate. Measured days up to ``today`` are used as they are.
    """
    year = daily_year(normals)
    n_days = (end - start).days + 1
    slot = years_and_slots(start, n_days)[1]
    base, slope, most = PLACE_SD_C
    offsets = _offsets_c(count, float(np.hypot(YEAR_SD_C, min(base + slope * distance_km, most))))
    if elevation_m is not None and normals.elevation_m is not None:
        offsets = offsets - LAPSE_C_PER_M * (elevation_m - normals.elevation_m)
    anomaly = daily_anomalies(count, start, n_days, seed) * anomaly_sd_c(year)[slot]
    wide = daily_anomalies(count, start, n_days, seed, persistence=RANGE_PERSISTENCE)
    # A day keeps at least a tenth of its usual range: lowest never passes highest.
    half = (year.t_max_c - year.t_min_c)[slot] / 2 * np.maximum(1 + RANGE_SPREAD * wide, 0.1)
    mean = year.t_mean_c[slot] + offsets[:, None] + anomaly
    known = None if measured is None else fill_short_gaps(measured.until(today))
    measured_to = None if known is None else known.measured_to
    about = WeatherKnown("normals", 0, measured_to, normals.place, distance_km)
    traces = Traces(start, mean - half, mean + half, about)
    traces = with_forecast(traces, forecast, known, today, range(count))
    return traces if known is None else _with_measured(traces, known)


def with_forecast(
    traces: Traces, forecast: ForecastDays | None, known: DailySeries | None, today: date, keys: Sequence[int]
) -> Traces:
    """Return traces whose days from the first not measured on are one forecast member's, as far as it goes.

    A forecast whose days are all over, or that was issued after ``today``, changes nothing.
    """
    if forecast is None or forecast.issued.date() > today:
        return traces
    offset = offset_of(forecast, known) if known is not None else Offset(0.0, 0.0, 0)
    measured_to = known.measured_to if known is not None else None
    first = today if measured_to is None else measured_to + timedelta(days=1)
    ahead = set_right(forecast, offset, today).from_day(first)
    if ahead.end < today:
        return traces
    member = members_for(keys, len(ahead.t_min_c))
    whole = (ahead.end - ahead.start).days + 1
    low = joined(traces.t_min_c, traces.start, ahead.t_min_c[member, :whole], ahead.start)
    high = joined(traces.t_max_c, traces.start, ahead.t_max_c[member, :whole], ahead.start)
    about = ForecastKnown(forecast.source, forecast.issued, ahead.end, len(ahead.t_min_c), offset)
    known_now = replace(traces.known, forecast=about)
    return Traces(traces.start, np.minimum(low, high), np.maximum(low, high), known_now)


def climatology(weather: DailySeries | Traces, *, until: date | None = None) -> Climatology:
    """Return the mean year by calendar day, smoothed over 31 days, its end meeting its start.

    For a series give ``until`` (the day of the plan): later days are not seen. Of traces all days count.

    Raises
    ------
    TooLittleWeather
        When fewer than 300 of the 366 calendar days have a value.
    """
    if isinstance(weather, DailySeries):
        series = weather if until is None else weather.until(until)
        start, low, high = series.start, series.t_min_c, series.t_max_c
        low, high = np.where(series.measured, low, np.nan), np.where(series.measured, high, np.nan)
    else:
        start, low, high = weather.start, weather.t_min_c.mean(axis=0), weather.t_max_c.mean(axis=0)
    slot = years_and_slots(start, len(low))[1]
    seen = np.count_nonzero(np.bincount(slot[~np.isnan(low)]))
    if seen < 300:
        raise TooLittleWeather(f"{seen} of 366 calendar days have weather; right would be a whole year")
    return Climatology(smooth_circle(mean_of_slots(slot, low)), smooth_circle(mean_of_slots(slot, high)))


def _each_year(past: PastYears, start: date, n_days: int, today: date) -> tuple[FloatArray, FloatArray]:
    """Return one row for each past year.

    After its last day a row goes on with the next year, and the newest with the oldest, so that the set of
    rows does not depend on which year comes first.
    """
    year, slot = years_and_slots(start, n_days)
    here = int(years_and_slots(today, 1)[1][0])
    ahead = year - today.year - (slot <= here)
    row = (np.arange(len(past))[:, None] + ahead) % len(past)
    return past.t_min_c[row, slot], past.t_max_c[row, slot]


def _resampled(
    past: PastYears, start: date, n_days: int, seed: int, count: int
) -> tuple[FloatArray, FloatArray]:
    """Return the mean year plus blocks of past anomalies from the same season (up to 15 days beside).

    One offset for each trace adds what blocks lose: the spread of whole years, and that the mean of n years
    is itself uncertain. Blocks are counted from the calendar's first day, so a window that starts elsewhere
    draws the same ones.
    """
    slot = years_and_slots(start, n_days)[1]
    block = (start.toordinal() + np.arange(n_days)) // BLOCK_DAYS
    first = int(block[0]) if n_days else 0
    draws = np.stack([_draw(seed, b, count) for b in range(first, first + n_days // BLOCK_DAYS + 2)])
    drawn = draws[block - first]
    row = (drawn[..., 0].T * len(past)).astype(np.int64)
    shift = np.rint((drawn[..., 1].T - 0.5) * BLOCK_DAYS).astype(np.int64)
    offset = _offsets_c(count, YEAR_SD_C * float(np.sqrt(1 + 1 / len(past))))[:, None]

    def around_mean(table: FloatArray) -> FloatArray:
        mean = smooth_circle(table.mean(axis=0))
        return np.asarray(mean[slot] + (table - mean)[row, (slot + shift) % SLOTS] + offset)

    low, high = around_mean(past.t_min_c), around_mean(past.t_max_c)
    return np.minimum(low, high), np.maximum(low, high)


def _draw(seed: int, block: int, count: int) -> FloatArray:
    return np.random.default_rng([seed, block]).random((count, 2))


def _offsets_c(count: int, sd_c: float) -> FloatArray:
    """Return ``count`` evenly likely offsets of a normal distribution [degC]."""
    spread = NormalDist(0.0, sd_c)
    return np.array([spread.inv_cdf((i + 0.5) / count) for i in range(count)])


def _with_measured(traces: Traces, known: DailySeries) -> Traces:
    """Put the measured days into every trace."""
    n_days = traces.t_min_c.shape[1]
    seen = known.window(traces.start, traces.start + timedelta(days=n_days - 1))
    low = np.where(seen.measured, seen.t_min_c, traces.t_min_c)
    high = np.where(seen.measured, seen.t_max_c, traces.t_max_c)
    return replace(traces, t_min_c=low, t_max_c=high)
