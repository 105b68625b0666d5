"""What every weather service hands out, whatever it calls it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from datetime import date, datetime

    from calendar_core.weather.hourly import HourlySeries


@dataclass(frozen=True, slots=True)
class Cell:
    """The place a service answers for: the middle of its grid cell or its station, not the place asked."""

    latitude: float
    longitude: float
    elevation_m: float | None


@dataclass(frozen=True, slots=True)
class Forecast:
    """One run of a forecast; ``members`` are equally likely courses over the same hours, one if it has no others.

    ``issued`` is when the run was made where the service says so, else when it was fetched. ``credit`` is the
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


class ForecastSource(Protocol):
    """A service that forecasts."""

    @property
    def name(self) -> str:
        """What its forecasts are stored under."""

    def forecast(self, latitude: float, longitude: float, elevation_m: float | None) -> Forecast:
        """Return the newest run for a place. Raises `http.ServiceError`."""


class HistorySource(Protocol):
    """A service that hands out past hours."""

    @property
    def name(self) -> str:
        """What its days are stored under."""

    def hours(
        self, latitude: float, longitude: float, elevation_m: float | None, first: date, last: date
    ) -> tuple[Cell, HourlySeries]:
        """Return the hours of whole UTC days from ``first`` to ``last``. Raises `http.ServiceError`."""
