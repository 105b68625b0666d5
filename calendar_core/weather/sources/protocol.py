"""What every weather service hands out, whatever it calls it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from datetime import date, datetime
    from zoneinfo import ZoneInfo

    from calendar_core.weather.daily import DailySeries, FloatArray
    from calendar_core.weather.hourly import HourlySeries
    from calendar_core.weather.quality import Rejected
    from calendar_core.weather.sources.http import Client


@dataclass(frozen=True, slots=True)
class Access:
    """How a service is reached: ``base_url`` in place of its own address, ``key`` where it is paid for."""

    client: Client
    base_url: str | None = None
    key: str | None = None

    def url(self, usual: str) -> str:
        """Return the base address."""
        return (self.base_url or usual).rstrip("/")


@dataclass(frozen=True, slots=True)
class Cell:
    """The place a service answers for: the middle of its grid cell or its station, not the place asked."""

    latitude: float
    longitude: float
    elevation_m: float | None


@dataclass(frozen=True, slots=True)
class Forecast:
    """One run of a forecast; ``members`` are equally likely courses over the same hours, one if it has no others.

    ``issued`` is when the run was made where the service says so, else the latest moment at which it can have been. ``credit`` is the
    line its terms ask to be shown; before ``expires`` the service has no newer run.
    """

    source: str
    issued: datetime
    cell: Cell
    members: tuple[HourlySeries, ...]
    credit: str
    expires: datetime | None = None


@dataclass(frozen=True, slots=True)
class PlaceFound:
    """A place of that name."""

    name: str
    region: str
    country: str
    latitude: float
    longitude: float
    elevation_m: float | None
    zone: str


@dataclass(frozen=True, slots=True, eq=False)
class PastDays:
    """Days of a place: precipitation of the same days [mm] (NaN unknown), and values left out of what they are made of."""

    cell: Cell
    series: DailySeries
    precipitation_mm: FloatArray
    rejected: tuple[Rejected, ...]


@dataclass(frozen=True, slots=True, eq=False)
class StationRecord:
    """What a station measured: temperature, precipitation of the same days [mm], and what was left out.

    NaN where nothing was measured or the value was rejected. Precipitation stays on the day it was read.
    """

    station: str
    series: DailySeries
    precipitation_mm: FloatArray
    rejected: tuple[Rejected, ...]
    notes: tuple[str, ...]


class ForecastSource(Protocol):
    """A service that forecasts. Its methods raise `http.ServiceError`."""

    @property
    def name(self) -> str:
        """What its forecasts are stored under."""

    def forecast(self, latitude: float, longitude: float, elevation_m: float | None) -> Forecast:
        """Return the newest run for a place, from which days are made."""

    def hours_ahead(self, latitude: float, longitude: float, elevation_m: float | None) -> Forecast:
        """Return the newest run with all the columns it has, from which hazards are judged; often the same one."""


class PastSource(Protocol):
    """A service that hands out past days of any place. Its methods raise `http.ServiceError`."""

    @property
    def name(self) -> str:
        """What its days are stored under."""

    @property
    def past_credit(self) -> str:
        """The line that its terms ask for where past weather is shown."""

    def days(
        self,
        latitude: float,
        longitude: float,
        elevation_m: float | None,
        zone: ZoneInfo,
        first: date,
        last: date,
    ) -> PastDays:
        """Return the days of a zone that lie within the UTC days from ``first`` to ``last``.

        A day that begins before them or ends after them may be unknown.
        """

    def height_m(self, latitude: float, longitude: float, today: date) -> float | None:
        """Return the height [m] the service itself takes a place to have, None where it tells none."""


class PlaceSource(Protocol):
    """A service that finds places by their name. Its methods raise `http.ServiceError`."""

    @property
    def places_credit(self) -> str:
        """The line that its terms ask for where places are shown."""

    def places(self, name: str, count: int = 10) -> tuple[PlaceFound, ...]:
        """Return the places of a name, the most important first, at most ``count``."""


class StationSource(Protocol):
    """A service that hands out the records of stations. Its methods raise `http.ServiceError`."""

    @property
    def credit(self) -> str:
        """The line that its terms ask for where a record is shown."""

    def station(self, station: str) -> StationRecord:
        """Return the whole record of a station."""
