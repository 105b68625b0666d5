"""The hours of a garden's forecast: courses of the weather over the open place, and its days on the clock."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from datetime import UTC, date, datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from calendar_core.science.hour.humidity import pressure_kpa
from calendar_core.science.hour.sun_path import Sun, sun_path
from calendar_core.weather.hourly import HOUR

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Span = tuple[datetime, datetime]
"""From a moment to a later one."""
REMEMBERED_H = 14 * 24  # estimate: as long as it takes to thaw the ice of 15 L in air at +1 degC


@dataclass(frozen=True, slots=True)
class Place:
    """Where a garden lies; degrees, north and east positive."""

    latitude: float
    longitude: float
    elevation_m: float
    zone: ZoneInfo

    @property
    def pressure_kpa(self) -> float:
        """The usual air pressure there."""
        return float(pressure_kpa(self.elevation_m))


@dataclass(frozen=True, eq=False)
class Hours:
    """Means of whole hours over the open place; the first begins at ``start`` [UTC].

    All arrays are (n_members, n_hours), or (1, n_hours) where members share them. ``sunlight_w_m2`` comes down on
    level ground, wind is that at 10 m, ``rain_mm`` and ``hail`` fall within the hour. A member is one course the
    weather may take; all are equally likely. The garden's days are judged best from its midnight on. ``known`` (1,
    n_hours) is false where the forecast tells nothing and its values are a bridge that nothing may be judged by.
    ``before_c`` (n_members or 1, any number of hours) is the temperature of the hours before the first, as far as it
    is known: root balls remember it.

    Raises
    ------
    ValueError
        An array of another shape, or with a value that is not a number.
    """

    start: datetime
    issued: datetime
    t_c: Floats
    vapour_kpa: Floats
    wind_10m_ms: Floats
    gust_ms: Floats
    sunlight_w_m2: Floats
    cloud_percent: Floats
    rain_mm: Floats
    hail: NDArray[np.bool_]
    known: NDArray[np.bool_]
    before_c: Floats = field(default_factory=lambda: np.empty((1, 0)))

    def __post_init__(self) -> None:
        if self.t_c.ndim != 2:
            raise ValueError(f"t_c has shape {self.t_c.shape}; right would be (n_members, n_hours)")
        members, hours = self.t_c.shape
        for name, values in self.columns().items():
            if values.shape not in {(members, hours), (1, hours)}:
                raise ValueError(
                    f"{name} has shape {values.shape}; right would be {(members, hours)} or {(1, hours)}"
                )
            if not np.isfinite(values).all():
                raise ValueError(f"{name} has unknown hours; right would be a number for each")
        before = self.before_c
        if before.ndim != 2 or len(before) not in {members, 1} or not np.isfinite(before).all():
            raise ValueError(
                f"before_c has shape {before.shape} or unknown hours; right would be numbers of {members} or 1 members"
            )

    def columns(self) -> dict[str, NDArray[Any]]:
        """Return the arrays of these hours by their name."""
        return {column.name: getattr(self, column.name) for column in fields(self)[2:-1]}

    @property
    def n_members(self) -> int:
        """Courses."""
        return int(self.t_c.shape[0])

    def __len__(self) -> int:
        return int(self.t_c.shape[1])

    @cached_property
    def starts(self) -> NDArray[np.datetime64]:
        """The beginning of each hour [UTC], (n_hours,)."""
        first = np.datetime64(self.start.astimezone(UTC).replace(tzinfo=None), "s")
        return first + np.arange(len(self)) * np.timedelta64(3600, "s")

    def at(self, hour: int) -> datetime:
        """Return the beginning of an hour; of ``len`` hours, the end of the last."""
        return self.start + hour * HOUR

    def part(self, begin: datetime, end: datetime) -> Hours:
        """Return the hours that begin from ``begin`` and end by ``end``; none may be left. Earlier ones are remembered."""
        first = max(-((self.start - begin) // HOUR), 0)
        last = min(max((end - self.start) // HOUR, first), len(self))
        cut: dict[str, Any] = {name: values[:, first:last] for name, values in self.columns().items()}
        before = self.before_c
        if first:
            gone = (
                np.broadcast_to(of, (self.n_members, of.shape[1])) for of in (before, self.t_c[:, :first])
            )
            before = np.concatenate(list(gone), axis=1)[:, -REMEMBERED_H:]
        return replace(self, start=self.at(first), before_c=before, **cut)

    def unknown(self, begin: datetime, end: datetime) -> tuple[Span, ...]:
        """Return the spans from ``begin`` to ``end`` of which nothing is told: gaps, and what lies beyond the hours."""
        gaps = np.flatnonzero(np.diff(np.concatenate([[True], self.known[0], [True]]))).tolist()
        spans = [
            (begin, self.start),
            *((self.at(first), self.at(last)) for first, last in zip(gaps[::2], gaps[1::2], strict=True)),
            (self.at(len(self)), end),
        ]
        cut = [(max(first, begin), min(last, end)) for first, last in spans]
        return tuple((first, last) for first, last in cut if first < last)

    def sun(self, place: Place) -> Sun:
        """Return the sun in the middle of each hour, (n_hours,)."""
        return sun_path(place.latitude, place.longitude, self.starts + np.timedelta64(1800, "s"))


@dataclass(frozen=True, slots=True)
class Clock:
    """The garden's clock: local hour at which each hour of the weather begins, and the days they make up.

    ``first`` (n_days,) is the index of each day's first hour; a day has 23 to 25 hours where clocks change, and
    the first and the last may be parts.
    """

    hour: Floats
    days: tuple[date, ...]
    first: NDArray[np.intp]


def clock(hours: Hours, place: Place, *, from_noon: bool = False) -> Clock:
    """Return the clock of the hours; ``from_noon`` begins a day at the noon before, so that a night is whole.

    Examples
    --------
    >>> from zoneinfo import ZoneInfo
    >>> flat, start = np.zeros((1, 30)), datetime(2024, 3, 30, 20, tzinfo=UTC)
    >>> hours = Hours(start, start, *[flat] * 7, flat > 0, flat == 0)
    >>> found = clock(hours, Place(52.5, 13.4, 34.0, ZoneInfo("Europe/Berlin")))
    >>> [f"{day:%d %B}" for day in found.days], found.first.tolist()
    (['30 March', '31 March', '01 April'], [0, 3, 26])
    """
    ahead = timedelta(hours=12 if from_noon else 0)
    local = [hours.at(i).astimezone(place.zone) for i in range(len(hours))]
    at = np.array([moment.hour + moment.minute / 60.0 for moment in local])
    dates = [(moment.replace(tzinfo=None) + ahead).date() for moment in local]
    first = [i for i, day in enumerate(dates) if i == 0 or day != dates[i - 1]]
    return Clock(at, tuple(dates[i] for i in first), np.array(first, dtype=np.intp))
