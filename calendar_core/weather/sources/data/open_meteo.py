"""The data of an answer of Open-Meteo, read strictly: units, times and lengths are what was asked for."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from calendar_core.weather.hourly import Column, HourlySeries
from calendar_core.weather.sources.answers import Nonsense, as_json, number, numbers, part, shown
from calendar_core.weather.sources.protocol import Cell, PlaceFound

if TYPE_CHECKING:
    from collections.abc import Mapping

    from calendar_core.weather.daily import FloatArray

COLUMNS: dict[Column, tuple[str, str]] = {
    "t_c": ("temperature_2m", "°C"),
    "dew_point_c": ("dew_point_2m", "°C"),
    "humidity_percent": ("relative_humidity_2m", "%"),
    "cloud_percent": ("cloud_cover", "%"),
    "wind_ms": ("wind_speed_10m", "m/s"),
    "gust_ms": ("wind_gusts_10m", "m/s"),
    "radiation_w_m2": ("shortwave_radiation", "W/m²"),
    "precipitation_mm": ("precipitation", "mm"),
    "weather_code": ("weather_code", "wmo code"),
}
"""The service's name and unit of each column; what they stand for is `hourly.MEANINGS`. An eleventh would make a
run count as more than one call of the free quota. Of hail the service knows in Central Europe only."""

PAST: tuple[Column, ...] = ("t_c", "precipitation_mm")
"""What is asked of past years."""

LOWEST_PLACE_M, HIGHEST_PLACE_M = -500.0, 9000.0
"""No place is lower or higher: the Dead Sea's shore is at some -430 m, Mount Everest has 8,849 m. GeoNames writes -9999
for unknown (from memory)."""

_MEMBER = re.compile(r"temperature_2m(_member(\d+))?")
_HOUR_S = 3600


def data_of(body: bytes) -> Mapping[str, Any]:
    """Return the object that an answer is."""
    said = as_json(body)
    if not isinstance(said, dict):
        raise Nonsense(f"{shown(said)}; right would be an object")
    if said.get("error"):
        raise Nonsense(f"an error in the form of success, {shown(said.get('reason'))}; right would be data")
    return said


def cell_of(said: Mapping[str, Any]) -> Cell:
    """Return the place that was answered for."""
    elevation_m = None if said.get("elevation") is None else number(said, "elevation")
    latitude, longitude = number(said, "latitude"), number(said, "longitude")
    if not (abs(latitude) <= 90 and abs(longitude) <= 360):
        raise Nonsense(
            f"the place is {latitude:g}, {longitude:g}; right would be degrees of latitude and longitude"
        )
    known = elevation_m is not None and LOWEST_PLACE_M < elevation_m < HIGHEST_PLACE_M
    return Cell(latitude, longitude, elevation_m if known else None)


def series_of(said: Mapping[str, Any], columns: tuple[Column, ...]) -> HourlySeries:
    """Return the hours with these columns, NaN where the service has no value."""
    start, n = _hours(said)
    return HourlySeries(start, {column: _values(said, *COLUMNS[column], n) for column in columns})


def run_of(said: Mapping[str, Any]) -> tuple[HourlySeries]:
    """Return a single forecast, which has at least some temperature."""
    run = series_of(said, tuple(COLUMNS))
    if np.isnan(run["t_c"]).all():
        raise Nonsense("temperature_2m has no value at all; right would be some")
    return (run,)


def members_of(said: Mapping[str, Any]) -> tuple[HourlySeries, ...]:
    """Return the members in the order of their numbers, the control run first, without those without values."""
    start, n = _hours(said)
    found = (_MEMBER.fullmatch(name) for name in part(said, "hourly"))
    names = sorted((int(match[2] or 0), match[0]) for match in found if match)
    temperatures = [_values(said, name, COLUMNS["t_c"][1], n) for _, name in names]
    members = tuple(HourlySeries(start, {"t_c": t_c}) for t_c in temperatures if not np.isnan(t_c).all())
    if not members:
        raise Nonsense(f"temperature_2m has no value in {len(names)} members; right would be some")
    return members


def whole_days(series: HourlySeries, first: date, last: date) -> HourlySeries:
    """Return the series if it is the UTC days from ``first`` to ``last``, neither more nor less."""
    n = ((last - first).days + 1) * 24
    if series.start != midnight(first) or len(series) != n:
        found = f"{len(series)} hours from {series.start:%Y-%m-%d %H:%M} on"
        raise Nonsense(f"{found}; right would be {n} from {first} 00:00 on")
    return series


def places_of(said: Mapping[str, Any]) -> tuple[PlaceFound, ...]:
    """Return the places; the service leaves the list out where it found none."""
    found = said.get("results", [])
    if not isinstance(found, list) or not all(isinstance(place, dict) for place in found):
        raise Nonsense(f"results is {shown(found)}; right would be a list of objects")
    return tuple(_place(place) for place in found)


def midnight(day: date) -> datetime:
    """Return the beginning of a UTC day."""
    return datetime.combine(day, time(), UTC)


def _place(said: Mapping[str, Any]) -> PlaceFound:
    where = cell_of(said)
    name, region, country, zone = (
        str(said.get(key) or "") for key in ("name", "admin1", "country", "timezone")
    )
    return PlaceFound(name, region, country, where.latitude, where.longitude, where.elevation_m, zone)


def _hours(said: Mapping[str, Any]) -> tuple[datetime, int]:
    """Return the first hour and the number of hours."""
    unit, times = part(said, "hourly_units").get("time"), part(said, "hourly").get("time")
    if unit != "unixtime":
        raise Nonsense(f"unit of time is {shown(unit)}; right would be 'unixtime'")
    if not isinstance(times, list) or not times or not all(type(at) is int for at in times):
        raise Nonsense(f"time is {shown(times)}; right would be seconds since 1970")
    steps = {after - before for before, after in pairwise(times)}
    if times[0] % _HOUR_S or steps - {_HOUR_S}:
        raise Nonsense(
            f"time begins at {shown(times[0])}, steps {shown(sorted(steps))} s; right would be whole hours"
        )
    try:
        return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=times[0]), len(times)
    except OverflowError as error:
        raise Nonsense(f"time begins at {shown(times[0])}; right would be seconds since 1970") from error


def _values(said: Mapping[str, Any], name: str, unit: str, n: int) -> FloatArray:
    found = part(said, "hourly_units").get(name)
    if found != unit:
        raise Nonsense(f"unit of {name} is {shown(found)}; right would be {unit!r}")
    return numbers(part(said, "hourly"), name, n)
