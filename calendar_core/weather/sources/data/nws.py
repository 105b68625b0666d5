"""The data of an answer of the US National Weather Service: a grid of intervals, expanded to hours.

Source of shapes and meanings: as `sources.nws`.
"""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from calendar_core.weather.hourly import HOUR, MEANINGS, Column, HourlySeries
from calendar_core.weather.sources.answers import as_json, shown
from calendar_core.weather.sources.protocol import Cell

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from calendar_core.weather.daily import FloatArray

MOST_DAYS = 30
"""The grid reaches some 8 days; a much wider span is a wrong date."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)

_CELSIUS, _PERCENT, _MM, _METRES = {"degC": 1.0}, {"percent": 1.0}, {"mm": 1.0}, {"m": 1.0}
_MS = {"km_h-1": 1 / 3.6, "m_s-1": 1.0}
_LAYERS: dict[Column, tuple[str, Mapping[str, float]]] = {
    "t_c": ("temperature", _CELSIUS),
    "t_low_c": ("minTemperature", _CELSIUS),
    "t_high_c": ("maxTemperature", _CELSIUS),
    "dew_point_c": ("dewpoint", _CELSIUS),
    "humidity_percent": ("relativeHumidity", _PERCENT),
    "cloud_percent": ("skyCover", _PERCENT),
    "wind_ms": ("windSpeed", _MS),
    "gust_ms": ("windGust", _MS),
    "precipitation_mm": ("quantitativePrecipitation", _MM),
}
_DURATION = r"P(?=.)(?:(\d{1,5})W)?(?:(\d{1,5})D)?(?:T(?=.)(?:(\d{1,5})H)?(?:(\d{1,5})M)?(?:(\d{1,5})S)?)?"
_INTERVAL = re.compile(rf"([^/]+)/{_DURATION}", re.ASCII)


class Interval(NamedTuple):
    """A value and the time it stands for, in hours since 1970."""

    begin_h: float
    end_h: float
    value: float


class Run(NamedTuple):
    """What an answer says of a cell, which the service calls ``grid``."""

    grid: str
    issued: datetime
    cell: Cell
    hours: HourlySeries


def grid_of_point(body: bytes) -> str | None:
    """Return the cell of a point; the service knows points that have none."""
    properties = _properties(as_json(body))
    return None if properties.get("gridX") is None else _grid(properties)


def run_of(body: bytes, point: str) -> Run:
    """Return what an answer says, and the cell it says it of."""
    said = as_json(body)
    properties = _properties(said)
    cell = _cell(said.get("geometry"), properties.get("elevation"), point)
    issued = _moment(properties.get("updateTime"))
    layers = {
        column: _intervals(name, properties.get(name), units) for column, (name, units) in _LAYERS.items()
    }
    return Run(_grid(properties), issued, cell, _series(layers))


def _properties(said: Any) -> Mapping[str, Any]:
    found = said.get("properties") if isinstance(said, dict) else None
    if isinstance(found, dict):
        return found
    raise ValueError(f"properties is {shown(found)}; right would be an object")


def _grid(properties: Mapping[str, Any]) -> str:
    """Return the cell an answer names; its two numbers come as numbers or as text."""
    grid = "{}/{},{}".format(*(properties.get(name) for name in ("gridId", "gridX", "gridY")))
    if not re.fullmatch(r"[A-Z]{3}/[0-9]{1,4},[0-9]{1,4}", grid):
        raise ValueError(f"the cell is {shown(grid)}; right would be such as 'TAE/58,65'")
    return grid


def _cell(geometry: Any, elevation: Any, point: str) -> Cell:
    """Return the middle of the cell's corners; if it has none, the point, which lies in it."""
    height = elevation if isinstance(elevation, dict) else {}
    elevation_m = _value("elevation", height.get("value"), height.get("unitCode"), _METRES)
    try:
        corners = np.array(geometry["coordinates"][0][:-1], dtype=np.float64)
        longitude, latitude = (float(sum(angles) / len(angles)) for angles in corners.T)
    except (ArithmeticError, IndexError, KeyError, TypeError, ValueError):
        latitude, longitude = (float(angle) for angle in point.split(","))
    return Cell(latitude, longitude, None if math.isnan(elevation_m) else elevation_m)


def _intervals(name: str, layer: Any, units: Mapping[str, float]) -> list[Interval]:
    """Return a layer's intervals; one that the office does not fill has no unit either."""
    try:
        unit, said = (layer.get("uom"), layer["values"]) if layer else (None, [])
        return [
            Interval(*times_of(interval["validTime"]), _value(name, interval["value"], unit, units))
            for interval in said
        ]
    except (AttributeError, KeyError, TypeError) as error:
        right = "right would be values, each with validTime and value"
        raise ValueError(f"{name} is {shown(layer)}; {right}") from error


def _value(name: str, value: Any, unit: Any, units: Mapping[str, float]) -> float:
    """Return a value in our unit, NaN if it is null; units come as wmoUnit:degC, unit:degC or degC."""
    if value is None:
        return math.nan
    if type(value) not in {int, float} or not math.isfinite(value):
        raise ValueError(f"{name} holds {shown(value)}; right would be a number or null")
    factor = units.get(str(unit).rpartition(":")[2])
    if factor is None:
        raise ValueError(f"unit of {name} is {shown(unit)}; right would be {' or '.join(units)}")
    return float(value) * factor


def _moment(text: Any) -> datetime:
    try:
        return _EPOCH + (datetime.fromisoformat(text) - _EPOCH)  # in UTC; no sum without a zone
    except (OverflowError, TypeError, ValueError) as error:
        raise ValueError(f"time is {shown(text)}; right would be such as 2026-05-01T12:00:00Z") from error


def times_of(text: Any) -> tuple[float, float]:
    """Return begin and end, in hours since 1970, of an ISO 8601 interval with a begin and a duration.

    >>> begin_h, end_h = times_of("2026-05-01T22:00:00+00:00/P1DT6H")
    >>> end_h - begin_h
    30.0
    """
    found = _INTERVAL.fullmatch(text)
    weeks, days, hours, minutes, seconds = map(int, found.groups("0")[1:]) if found else (0,) * 5
    length = timedelta(weeks=weeks, days=days, hours=hours, minutes=minutes, seconds=seconds)
    if not found or not length:
        raise ValueError(f"interval is {shown(text)}; right would be such as 2026-05-01T12:00:00+00:00/PT6H")
    begin = _moment(found[1]) - _EPOCH
    return begin / HOUR, (begin + length) / HOUR


def _series(layers: Mapping[Column, Sequence[Interval]]) -> HourlySeries:
    """Return the hours from the first begin to the last end, each layer as its column means it."""
    if all(math.isnan(hours.value) for hours in layers["t_c"]):
        raise ValueError("temperature has no value at all; right would be some")
    every = [interval for intervals in layers.values() for interval in intervals]
    first_h = math.floor(min(interval.begin_h for interval in every))
    n = math.ceil(max(interval.end_h for interval in every)) - first_h + 1
    if n > MOST_DAYS * 24:
        raise ValueError(f"the grid spans {n // 24} days; right would be at most {MOST_DAYS}")
    from_first = {
        column: [Interval(begin_h - first_h, end_h - first_h, value) for begin_h, end_h, value in intervals]
        for column, intervals in layers.items()
        if intervals
    }
    t_c = _held(from_first["t_c"], n, 0)
    values = {column: _hours(column, intervals, t_c) for column, intervals in from_first.items()}
    return HourlySeries(_EPOCH + first_h * HOUR, values)


def _hours(column: Column, intervals: Sequence[Interval], t_c: FloatArray) -> FloatArray:
    if column in {"t_low_c", "t_high_c"}:
        return _at_their_hour(intervals, t_c if column == "t_low_c" else -t_c)
    if MEANINGS[column] == "sum":
        return spread(intervals, len(t_c))
    return _held(intervals, len(t_c), 0 if MEANINGS[column] == "instant" else 1)


def _held(intervals: Sequence[Interval], n: int, later: int) -> FloatArray:
    """Return each value at all hours of its interval: those it begins with, or ``later`` by one, ends with."""
    out = np.full(n, np.nan)
    for begin_h, end_h, value in intervals:
        out[math.ceil(begin_h) + later : math.ceil(end_h) + later] = value
    return out


def spread(intervals: Sequence[Interval], n: int) -> FloatArray:
    """Return each amount spread over the hours that end in its interval; an hour known in part is unknown."""
    amount, known_h = np.zeros(n), np.zeros(n)
    for begin_h, end_h, value in intervals:
        if not math.isnan(value):
            ends = np.arange(math.floor(begin_h) + 1, math.ceil(end_h) + 1)
            part_h = np.minimum(ends, end_h) - np.maximum(ends - 1, begin_h)
            amount[ends] += value * part_h / (end_h - begin_h)
            known_h[ends] += part_h
    return np.where(known_h > 0.99, amount, np.nan)


def _at_their_hour(windows: Sequence[Interval], coldness: FloatArray) -> FloatArray:
    """Return each value at the end of its window's hour of least ``coldness``, the last if that is unknown."""
    out = np.full(len(coldness), np.nan)
    for begin_h, end_h, value in windows:
        hours = coldness[math.ceil(begin_h) : math.ceil(end_h)]
        known = not np.isnan(hours).all()
        at = math.ceil(begin_h) + int(np.nanargmin(hours)) + 1 if known else math.ceil(end_h)
        out[at] = value
    return out
