"""Open-Meteo: forecasts, ensembles, past hours and place names of the whole world; no key for private use.

Source of shapes, units and terms: https://open-meteo.com/en/docs, /en/terms and /en/licence. Times are asked
as seconds in UTC, because the service shifts all local times of an answer by one offset, across clock changes
too; days are made from the hours here.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, Literal, TypeVar
from urllib.parse import urlsplit

import numpy as np

from calendar_core.weather.hourly import HourlySeries, days_of
from calendar_core.weather.quality_hourly import check_hourly, without
from calendar_core.weather.sources.data.open_meteo import (
    COLUMNS,
    PAST,
    cell_of,
    data_of,
    members_of,
    midnight,
    places_of,
    run_of,
    series_of,
    whole_days,
)
from calendar_core.weather.sources.http import ServiceError
from calendar_core.weather.sources.protocol import Cell, Forecast, PastDays, PlaceFound

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from calendar_core.weather.sources.http import Keep
    from calendar_core.weather.sources.protocol import Access

T = TypeVar("T")

Part = Literal["forecast", "archive", "ensemble", "geocoding"]

URLS: dict[Part, str] = {
    "forecast": "https://api.open-meteo.com/v1/forecast",
    "archive": "https://archive-api.open-meteo.com/v1/archive",
    "ensemble": "https://ensemble-api.open-meteo.com/v1/ensemble",
    "geocoding": "https://geocoding-api.open-meteo.com/v1/search",
}
"""Each part of the service has a host of its own."""

CREDIT = (
    "Weather data by Open-Meteo.com (https://open-meteo.com/), "
    "CC BY 4.0 (https://creativecommons.org/licenses/by/4.0/)"
)
PLACES_CREDIT = (
    "Place names by GeoNames (https://www.geonames.org/) through Open-Meteo.com (https://open-meteo.com/), "
    "CC BY 4.0 (https://creativecommons.org/licenses/by/4.0/)"
)

ENSEMBLE_DAYS = 15
"""How far the ensemble of the European Centre reaches."""

SHARED_DAYS = 7
"""Days before today that come along: they bridge what the archive is behind, and show how far the station reads
from the forecast."""

AHEAD_DAYS, PAST_DAYS = 10, 3
"""Length of the single run, and days before it that come along: with its columns 13 days still count as one
call of the free quota."""

SETTLED_DAYS = 10
"""The archive is about five days behind; twice that after its end a year is asked for the last time."""


class OpenMeteo:
    """The service as source of forecasts and of past hours.

    Coordinates are asked to two decimals: some 500 m, enough for cells of 9 km, and less of the grower's
    address. ``archive_model`` is one reanalysis over all years, since the service's own mixture changes its
    model in 2017. A base address is one host of your own that stands for all four parts; with a key the
    hosts of paying customers are asked.
    """

    name = "open-meteo"
    places_credit = PLACES_CREDIT

    def __init__(
        self,
        access: Access,
        *,
        model: str = "ecmwf_ifs025_ensemble",
        archive_model: str = "era5_seamless",
    ) -> None:
        self._client, self._access = access.client, access
        self._model, self._archive_model = model, archive_model

    @property
    def past_credit(self) -> str:
        """The line that the terms ask for where past weather is shown."""
        return (
            f"{CREDIT}; contains modified Copernicus Climate Change Service information (ERA5) "
            f"{self._client.now().year}; neither the European Commission nor ECMWF is responsible for any use "
            "that may be made of it"
        )

    def forecast(self, latitude: float, longitude: float, elevation_m: float | None) -> Forecast:
        """Return the newest ensemble: temperature of 15 days and the week before, one series a member, the control run first.

        The service does not say when a run was made, but the days before today that were asked for tell on which day
        it was: ``issued`` is the end of that day of UTC, or when it was fetched if that was earlier.
        """
        asked = _where(latitude, longitude, elevation_m) | {
            "hourly": "temperature_2m",
            "models": self._model,
            "forecast_days": f"{ENSEMBLE_DAYS}",
            "past_days": f"{SHARED_DAYS}",
        }
        return self._forecast(self.name, "ensemble", asked, members_of, SHARED_DAYS)

    def hours_ahead(
        self, latitude: float, longitude: float, elevation_m: float | None, *, past_days: int = PAST_DAYS
    ) -> Forecast:
        """Return the service's best single run with all the columns it has, from ``past_days`` ago on.

        As `forecast`, but its ``source`` is "open-meteo single run": the two are not to be mixed up.
        """
        asked = _where(latitude, longitude, elevation_m) | {
            "hourly": ",".join(theirs for theirs, _ in COLUMNS.values()),
            "wind_speed_unit": "ms",
            "forecast_days": f"{AHEAD_DAYS}",
            "past_days": f"{past_days}",
        }
        return self._forecast(f"{self.name} single run", "forecast", asked, run_of, past_days)

    def hours(
        self, latitude: float, longitude: float, elevation_m: float | None, first: date, last: date
    ) -> tuple[Cell, HourlySeries]:
        """Return temperature and precipitation of the UTC days from ``first`` to ``last``.

        One calendar year is asked at a time; a year that is over and has no gap is never asked again.
        """
        if last < first:
            raise ValueError(f"first is {first} and last {last}; right would be first before last")
        where = _where(latitude, longitude, elevation_m)
        years = [self._year(where, year, first, last) for year in range(first.year, last.year + 1)]
        values = {column: np.concatenate([series[column] for _, series in years]) for column in PAST}
        return years[-1][0], HourlySeries(years[0][1].start, values)

    def days(
        self,
        latitude: float,
        longitude: float,
        elevation_m: float | None,
        zone: ZoneInfo,
        first: date,
        last: date,
    ) -> PastDays:
        """Return the days of a zone that the hours from ``first`` to ``last`` (UTC) make, without what cannot be right."""
        cell, hours = self.hours(latitude, longitude, elevation_m, first, last)
        odd = check_hourly(hours)
        made = days_of(without(hours, odd), zone)
        return PastDays(cell, made.series, made.precipitation_mm, tuple(odd))

    def height_m(self, latitude: float, longitude: float, today: date) -> float | None:
        """Return the height [m] the service itself takes a place to have: that of its terrain model."""
        last = date(today.year - 1, 12, 31)
        cell, _ = self.hours(latitude, longitude, None, last, last)
        return cell.elevation_m

    def places(self, name: str, count: int = 10, language: str = "en") -> tuple[PlaceFound, ...]:
        """Return the places of a name, the most important first, at most ``count`` (1 to 100)."""
        asked = {"name": name.strip(), "count": f"{count}", "language": language, "format": "json"}
        return self._ask("geocoding", asked, places_of)

    def _url(self, part: Part) -> str:
        url = URLS[part]
        if self._access.base_url:
            return self._access.url("") + urlsplit(url).path
        return url.replace("https://", "https://customer-") if self._access.key else url

    def _forecast(
        self,
        source: str,
        part: Part,
        asked: Mapping[str, str],
        read: Callable[[Mapping[str, Any]], tuple[HourlySeries, ...]],
        past_days: int,
    ) -> Forecast:
        cell, members = self._ask(part, asked, lambda said: (cell_of(said), read(said)), keep="conditional")
        last = self._client.last
        fetched = last.fetched if last else self._client.now()
        issued = min(fetched, _end_of(members[0].start + timedelta(days=past_days)))
        return Forecast(source, issued, cell, members, CREDIT, self._client.expires)

    def _year(
        self, where: Mapping[str, str], year: int, first: date, last: date
    ) -> tuple[Cell, HourlySeries]:
        """Return the days of a year that are wanted; a year that is over is asked, and kept, as a whole."""
        new_year, end_of_year = date(year, 1, 1), date(year, 12, 31)
        wanted_from, wanted_to = max(first, new_year), min(last, end_of_year)
        over = end_of_year + timedelta(days=SETTLED_DAYS) < self._client.now().date()
        begin, end = (new_year, end_of_year) if over else (wanted_from, wanted_to)
        asked = {
            "start_date": f"{begin}",
            "end_date": f"{end}",
            "hourly": ",".join(COLUMNS[column][0] for column in PAST),
            "models": self._archive_model,
        }
        cell, series = self._ask(
            "archive",
            {**where, **asked},
            lambda said: (cell_of(said), whole_days(series_of(said, PAST), begin, end)),
            keep="for ever" if over else None,
            worth_keeping=lambda got: not any(np.isnan(got[1][column]).any() for column in PAST),
        )
        skipped, n = (wanted_from - begin).days * 24, ((wanted_to - wanted_from).days + 1) * 24
        cut = {column: series[column][skipped : skipped + n] for column in PAST}
        return cell, HourlySeries(midnight(wanted_from), cut)

    def _ask(
        self,
        part: Part,
        params: Mapping[str, str],
        read: Callable[[Mapping[str, Any]], T],
        *,
        keep: Keep | None = None,
        worth_keeping: Callable[[T], bool] = lambda _: True,
    ) -> T:
        if self._access.key:
            params = {**params, "apikey": self._access.key}
        try:
            return self._client.ask(
                self._url(part),
                params,
                lambda body: read(data_of(body)),
                keep=keep,
                worth_keeping=worth_keeping,
            )
        except ServiceError as error:
            if error.kind == "busy" and error.wait_s is None:
                error.wait_s = _wait_s(error.reason, self._client.now())
            raise


def _end_of(moment: datetime) -> datetime:
    """Return the last second of the UTC day of a moment."""
    return midnight(moment.date() + timedelta(days=1)) - timedelta(seconds=1)


def _where(latitude: float, longitude: float, elevation_m: float | None) -> dict[str, str]:
    """Return the place in two decimals, never "-0.00", and the form in which times are to come."""
    where = {
        "latitude": f"{round(latitude, 2) + 0.0:.2f}",
        "longitude": f"{round(longitude, 2) + 0.0:.2f}",
        "timezone": "GMT",
        "timeformat": "unixtime",
    }
    return where if elevation_m is None else where | {"elevation": f"{round(elevation_m)}"}


def _wait_s(reason: str, now: datetime) -> float | None:
    """Return the wait that belongs to a limit, since the service sends no Retry-After header."""
    if reason.startswith("Minutely"):
        return 60.0
    if reason.startswith("Hourly"):
        hour = now.replace(minute=0, second=0, microsecond=0)
        return (hour + timedelta(hours=1) - now).total_seconds()
    if reason.startswith("Daily"):
        return (midnight(now.date() + timedelta(days=1)) - now).total_seconds()
    return None
