"""Fetching weather: past days year by year, resumed where they stopped, and the newest forecast."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING
from uuid import uuid5
from zoneinfo import ZoneInfo

import numpy as np

from calendar_core.app.weather.measured import FILES, day_of, keep_rejected
from calendar_core.garden.limits import possible_height
from calendar_core.storage import gardens
from calendar_core.storage.services import (
    StoredForecast,
    StoredHours,
    get_forecast_hours,
    put_forecast,
    put_forecast_hours,
)
from calendar_core.storage.weather import WeatherSeries, days_in, save_series, store_days
from calendar_core.weather.forecasts import as_days, as_hours
from calendar_core.weather.hourly import HOUR
from calendar_core.weather.normals import great_circle_km
from calendar_core.weather.quality import check, leave_out
from calendar_core.weather.sources.http import ServiceError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from calendar_core.garden.model import Garden
    from calendar_core.storage.engine import Store
    from calendar_core.weather.daily import DailySeries, FloatArray
    from calendar_core.weather.quality import Rejected
    from calendar_core.weather.sources.protocol import Cell, Forecast, ForecastSource, PastSource

WHOLE_YEAR = 0.98  # share of days from which a year is not asked for again; the rest is filled as gaps are
YEARS_WANTED = 30  # climate normals span as many (WMO-No. 1203)
SILENT_DAYS = 10  # twice what archives are behind: of so many days one value at least is known (estimate)
FAR_KM = 30.0  # three cells of the coarsest model used: farther away the answer may be for another climate


@dataclass(frozen=True)
class YearFetched:
    """What came of one year."""

    year: int
    days: int
    rejected: int
    cell: Cell


def missing_years(store: Store, garden: Garden, today: date, years: int) -> list[int]:
    """Return the years, the newest first, of which days are still to be fetched."""
    have = service_days(store, garden)
    out = []
    for year in range(today.year, today.year - years - 1, -1):
        last = min(date(year, 12, 31), today - timedelta(days=1))
        wanted = (last - date(year, 1, 1)).days + 1
        if wanted > 0 and (
            have is None or have.window(date(year, 1, 1), last).measured.sum() < WHOLE_YEAR * wanted
        ):
            out.append(year)
    return out


def service_days(store: Store, garden: Garden) -> DailySeries | None:
    """Return the stored days of a garden's service, None where there are none."""
    with store.read() as connection:
        return days_in(connection, garden.service_series)


def with_height(store: Store, garden: Garden, source: PastSource, today: date) -> Garden:
    """Return the garden with its service's height of the place where nobody told another, stored.

    Where the service tells none, or gives no answer, it stays as it is.
    """
    if garden.elevation_known:
        return garden
    try:
        height_m = possible_height(source.height_m(garden.latitude, garden.longitude, today))
    except ServiceError:
        return garden
    if height_m is None:
        return garden
    settled = replace(garden, elevation_m=height_m, elevation_known=True)
    with store.begin() as connection:
        gardens.update_garden(connection, settled)
    return settled


def _height_m(garden: Garden) -> float | None:
    """Return the height to ask for [m]; None where it is not known, and a service takes its own of the place.

    Asked for 0 m it would make a mountain's days those of the coast.
    """
    return garden.elevation_m if garden.elevation_known else None


def fetch_years(
    store: Store, garden: Garden, source: PastSource, today: date, years: Iterable[int]
) -> Iterable[YearFetched]:
    """Fetch, check and store years one by one; what is stored stays if the next one fails. Raises ServiceError."""
    zone = ZoneInfo(garden.zone)
    for year in years:
        first, last = date(year, 1, 1), min(date(year, 12, 31), today - timedelta(days=1))
        day = timedelta(days=1)
        # A day more on either side, for the hours by which the garden's days differ from those of UTC.
        made = source.days(
            garden.latitude, garden.longitude, _height_m(garden), zone, first - day, min(last + day, today)
        )
        series = made.series.window(first, last)
        rain = np.full(len(series), np.nan)
        at = (first - made.series.start).days
        known = made.precipitation_mm[at : at + len(series)]
        rain[: len(known)] = known
        believed, more = leave_out(series, check(series))
        if len(series) > SILENT_DAYS and not believed.measured.any():
            raise ServiceError(
                "nonsense",
                f"{source.name}: not one value from {first} to {last} can be believed; right would be measured days",
            )
        rejected = [value for value in (*made.rejected, *more) if first <= day_of(value) <= last]
        garden = _keep(store, garden, source, believed, rain, rejected)
        yield YearFetched(year, int(believed.measured.sum()), len(rejected), made.cell)


def _keep(
    store: Store,
    garden: Garden,
    source: PastSource,
    series: DailySeries,
    rain: FloatArray,
    rejected: Sequence[Rejected],
) -> Garden:
    station = f"{garden.latitude:.2f} {garden.longitude:.2f}"
    made = WeatherSeries(
        uuid5(FILES, f"{source.name}|{station}"), source.name, station, f"{source.name} at {station}",
        round(garden.latitude, 2), round(garden.longitude, 2), garden.elevation_m, "service", source.past_credit,
    )  # fmt: skip
    with store.begin() as connection:
        kept = save_series(connection, made)
        store_days(connection, kept.id, series.start, series.t_min_c, series.t_max_c, precipitation_mm=rain)
        keep_rejected(connection, kept.id, series, rejected)
        if garden.service_series != kept.id:
            garden = replace(garden, service_series=kept.id)
            gardens.update_garden(connection, garden)
    return garden


def fetch_forecast(store: Store, garden: Garden, source: ForecastSource, now: datetime) -> StoredForecast:
    """Fetch the newest forecast and store it as days of the garden's zone. Raises ServiceError."""
    run = _of_now(source.forecast(garden.latitude, garden.longitude, _height_m(garden)), now)
    distance = great_circle_km(garden.latitude, garden.longitude, run.cell.latitude, run.cell.longitude)
    days = as_days(run, ZoneInfo(garden.zone), _height_m(garden), distance)
    stored = StoredForecast(
        days.source, garden.latitude, garden.longitude, garden.zone, days.issued, now, days.start,
        days.t_min_c, days.t_max_c, days.credit, distance, run.expires,
    )  # fmt: skip
    with store.begin() as connection:
        put_forecast(connection, stored)
    return stored


def _of_now(run: Forecast, now: datetime) -> Forecast:
    """Return a run that reaches beyond now and was made by now, whatever it says. Raises ServiceError where it is over."""
    ends = max(member.start + len(member) * HOUR for member in run.members)
    if ends <= now:
        text = f"{run.source}: its forecast ends on {ends:%Y-%m-%d}; right would be days to come"
        raise ServiceError("nonsense", text)
    return replace(run, issued=min(run.issued, now))


def fetch_hours(store: Store, garden: Garden, source: ForecastSource, now: datetime) -> StoredHours:
    """Fetch the newest hours of the coming days and store them. Raises ServiceError.

    They are moved to the garden's height, and set right by nothing else.
    """
    run = _of_now(source.hours_ahead(garden.latitude, garden.longitude, _height_m(garden)), now)
    distance = great_circle_km(garden.latitude, garden.longitude, run.cell.latitude, run.cell.longitude)
    hours = as_hours(run, _height_m(garden))
    stored = StoredHours(
        run.source, garden.latitude, garden.longitude, run.issued, now, hours.start,
        hours.values, run.credit, distance, run.expires,
    )  # fmt: skip
    with store.begin() as connection:
        if not put_forecast_hours(connection, stored):
            raise ServiceError(
                "nonsense", f"{run.source} has no temperature of any hour to come; right would be some"
            )
    return stored


def hours_kept(store: Store, garden: Garden) -> StoredHours | None:
    """Return the hours of the coming days as they were last fetched, None where none ever were."""
    with store.read() as connection:
        return get_forecast_hours(connection, garden.latitude, garden.longitude)
