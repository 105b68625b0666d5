"""The weather a garden's plan rests on: its own measured days, else the nearest bundled normals."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cache, lru_cache
from typing import TYPE_CHECKING
from zlib import crc32

import numpy as np

from calendar_core.app.shell.errors import Refusal
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.planning.seasons.air import Air
from calendar_core.planning.seasons.axis import Axis, axis_for
from calendar_core.planning.seasons.species_stages import Sky
from calendar_core.storage.services import StoredForecast, get_forecast
from calendar_core.storage.weather import days_in, get_series
from calendar_core.weather.combine import NO_DIFFERENCE, LevelDifference, combined, difference
from calendar_core.weather.daily import fill_short_gaps, years_and_slots
from calendar_core.weather.forecasts import ForecastDays
from calendar_core.weather.normals import Normals, daily_year, nearest, read_normals
from calendar_core.weather.past_years import past_years
from calendar_core.weather.traces import climatology, make_traces, traces_from_normals

if TYPE_CHECKING:
    from collections.abc import Callable
    from uuid import UUID

    from numpy.typing import NDArray

    from calendar_core.garden.model import Garden
    from calendar_core.storage.engine import Store
    from calendar_core.weather.daily import DailySeries
    from calendar_core.weather.past_years import Climatology

    Floats = NDArray[np.float64]

ENOUGH_MEASURED = (
    0.9  # share of days, from the first that counts, needed to learn from a past spring (estimate)
)
FARTHEST_NORMALS_KM = (
    800.0  # there annual means of two places differ by 3.6 degC (root mean square, Japan and Korea)
)


@dataclass(frozen=True)
class WeatherAt:
    """``sky`` for the planner; ``credit`` is the line the data's terms ask for.

    ``measured`` are the garden's own days with its service's where it has none, whose level differs by
    ``level``; ``forecast`` is the newest run known on the day.
    """

    sky: Sky
    measured: DailySeries | None
    mean_year: Climatology
    credit: str
    level: LevelDifference = NO_DIFFERENCE
    forecast: StoredForecast | None = None


@lru_cache(maxsize=1)
def bundled_normals() -> tuple[Normals, ...]:
    """Return the normals that come with the program."""
    return read_normals((folder("config") / "normals.csv").read_text(encoding="utf-8"))


def near_normals(latitude: float, longitude: float) -> tuple[Normals, float]:
    """Return the nearest bundled normals and their distance [km], or refuse where none is near enough."""
    same_side = [place for place in bundled_normals() if (place.latitude < 0) == (latitude < 0)]
    normals, distance_km = nearest(same_side, latitude, longitude)
    if distance_km > FARTHEST_NORMALS_KM:
        raise Refusal(
            f"the nearest bundled climate, {normals.place.replace('_', ' ')}, is {distance_km:.0f} km away: too far to plan from; "
            "right would be a weather service (not --offline), or your own measured days, a year or more, with --weather FILE"
        )
    return normals, distance_km


@dataclass(frozen=True)
class WeatherThen:
    """What was known of the weather on an earlier day: the last day measured, and the forecast of then."""

    measured_to: date | None
    forecast: StoredForecast | None


def weather_at(
    store: Store, garden: Garden, today: date, axis: Axis, then: WeatherThen | None = None
) -> WeatherAt:
    """Return the weather of a garden as known on a day, or as it was known ``then``: nothing measured later is seen."""
    known_to = today if then is None else then.measured_to
    measured, credit, place, level = _measured(store, garden, known_to or date.min)
    if then is not None and measured is not None:
        measured = measured.until(then.measured_to) if then.measured_to else None
    stored = _forecast(store, garden, today) if then is None else then.forecast
    ahead = None if stored is None else _as_days(stored)
    if stored is not None and stored.credit not in credit:
        credit = "; ".join(part for part in (credit, stored.credit) if part)
    seed = _seed(garden.latitude, garden.longitude)
    end = axis.day(axis.n_days - 1)
    if measured is not None and len(past_years(measured, today)):
        year = climatology(measured, until=today)
        traces = make_traces(
            measured, start=axis.start, end=end, today=today, place=place, seed=seed, forecast=ahead
        )
    else:
        normals, distance_km = near_normals(garden.latitude, garden.longitude)
        year, credit = daily_year(normals), "; ".join(part for part in (credit, normals.credit) if part)
        traces = traces_from_normals(
            normals,
            start=axis.start,
            end=end,
            today=today,
            seed=seed,
            distance_km=distance_km,
            measured=measured,
            forecast=ahead,
        )
    sky = Sky(traces, _curve(year), _past(measured, year, garden.latitude, today))
    return WeatherAt(sky, measured, year, credit, level, stored)


def _seed(latitude: float, longitude: float) -> int:
    """Return what the possible years of a place are drawn from: neighbours share them."""
    return crc32(f"{latitude:.2f} {longitude:.2f}".encode())


def sky_of_normals(normals: Normals, axis: Axis, today: date) -> tuple[Sky, Climatology]:
    """Return the weather of a bundled place of which nothing is measured, and its mean year."""
    year, end = daily_year(normals), axis.day(axis.n_days - 1)
    seed = _seed(normals.latitude, normals.longitude)
    traces = traces_from_normals(normals, start=axis.start, end=end, today=today, seed=seed, distance_km=0.0)
    return Sky(traces, _curve(year), _past(None, year, normals.latitude, today)), year


def _measured(
    store: Store, garden: Garden, today: date
) -> tuple[DailySeries | None, str, str, LevelDifference]:
    """Return the own days, completed by the service's; their credit and place; and how their levels differ."""
    series = [_series(store, identity) for identity in (garden.weather_series, garden.service_series)]
    found = [record for record in series if record is not None]
    if not found:
        return None, "", garden.place, NO_DIFFERENCE
    own, credit, place = found[0]
    if len(found) == 1:
        return own, credit, place, NO_DIFFERENCE
    service, other_credit, _ = found[1]
    level = difference(own.until(today), service.until(today))
    moved = level if garden.own_level else NO_DIFFERENCE
    both = "; ".join(part for part in (credit, other_credit) if part)
    return combined(own, service, moved), both, place, level


def _series(store: Store, series_id: UUID | None) -> tuple[DailySeries, str, str] | None:
    """Return the days of a series, its credit and its place; None where it has no day yet."""
    with store.read() as connection:
        days = days_in(connection, series_id)
        if series_id is None or days is None:
            return None
        series = get_series(connection, series_id)
    return days, series.credit, series.place


def _forecast(store: Store, garden: Garden, today: date) -> StoredForecast | None:
    """Return the newest run, if it was issued by the end of the day."""
    with store.read() as connection:
        found = get_forecast(connection, garden.latitude, garden.longitude, garden.zone)
    return found if found is not None and found.issued_here.date() <= today else None


def _as_days(stored: StoredForecast) -> ForecastDays:
    return ForecastDays(
        stored.source,
        stored.issued_here,
        stored.start,
        stored.t_min_c,
        stored.t_max_c,
        stored.credit,
        stored.distance_km,
    )


def _curve(year: Climatology) -> Callable[[Axis], Floats]:
    def on(axis: Axis) -> Floats:
        _, slots = years_and_slots(axis.start, axis.n_days)
        return year.t_mean_c[slots]

    return on


def _past(
    measured: DailySeries | None, year: Climatology, latitude: float, today: date
) -> Callable[[int], Air]:
    """Return a function that gives the air of a past cycle: measured, or the mean year where too little was."""

    @cache
    def air(cycle: int) -> Air:
        axis = axis_for(latitude, (cycle,))
        _, slots = years_and_slots(axis.start, axis.n_days)
        low, high = year.t_min_c[slots], year.t_max_c[slots]
        counts = slice(max(axis.chill_start(cycle), 0), axis.midsummer(cycle))
        known = False
        if measured is not None:
            days = fill_short_gaps(measured.until(today)).window(axis.start, axis.day(axis.n_days - 1))
            known = bool(days.measured[counts].mean() >= ENOUGH_MEASURED)
            if known:
                low = np.where(days.measured, days.t_min_c, low)
                high = np.where(days.measured, days.t_max_c, high)
        return Air(axis, low[None, :], high[None, :], year.t_mean_c[slots], 0.0, measured=known)

    return air
