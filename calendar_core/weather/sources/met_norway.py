"""MET Norway: its point forecast for the whole world, hourly at first and then in steps of six hours.

Source of shapes, meanings and terms: https://docs.api.met.no/doc/ForecastJSON, /doc/StatusCodes,
/doc/TermsOfService and /doc/locationforecast/datamodel.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from calendar_core.weather.hourly import HOUR, Column, HourlySeries
from calendar_core.weather.sources.answers import as_json
from calendar_core.weather.sources.http import ServiceError
from calendar_core.weather.sources.protocol import Cell, Forecast

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from calendar_core.weather.daily import FloatArray
    from calendar_core.weather.sources.protocol import Access

URL = "https://api.met.no/weatherapi/locationforecast/2.0"

CREDIT = (
    "Data from MET Norway (https://www.met.no/en), CC BY 4.0 (https://creativecommons.org/licenses/by/4.0/)"
)

RIGHT = {
    403: "a User-Agent header that names the program and a contact",
    404: "another source, as it has no data for this place",
    422: "another source, as this place lies outside its area",
}
"""What would be right where the service refuses, by status."""

LONG_STEP_H = 6
"""The service has steps of one and of six hours; nothing is drawn across a longer one."""

MOST_DAYS = 30
"""The service reaches some 10 days; a much wider span is a wrong date."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_UNITS = {
    "air_temperature": "celsius",
    "air_temperature_min": "celsius",
    "air_temperature_max": "celsius",
    "dew_point_temperature": "celsius",
    "relative_humidity": "%",
    "cloud_area_fraction": "%",
    "wind_speed": "m/s",
    "wind_speed_of_gust": "m/s",
    "precipitation_amount": "mm",
}
_INSTANTS: dict[Column, str] = {
    "t_c": "air_temperature",
    "dew_point_c": "dew_point_temperature",
    "humidity_percent": "relative_humidity",
    "cloud_percent": "cloud_area_fraction",
    "wind_ms": "wind_speed",
}
_PARTS = ("instant", "next_1_hours", "next_6_hours")
_EXTREMES: dict[Column, str] = {"t_low_c": "air_temperature_min", "t_high_c": "air_temperature_max"}


class _Step(NamedTuple):
    """One time of the answer: its hour since 1970, the hours to the next, and its values by their names."""

    hour: int
    length_h: int
    instant: Mapping[str, float]
    in_1_h: Mapping[str, float]
    in_6_h: Mapping[str, float]


class MetNorway:
    """The service as source of forecasts for the whole world.

    Coordinates are asked to two decimals: some 500 m, and less of the grower's address. The elevation is
    sent, since the service corrects temperature by it.
    """

    name = "met-norway"

    def __init__(self, access: Access) -> None:
        self._client, self._base_url = access.client, access.url(URL)

    def forecast(self, latitude: float, longitude: float, elevation_m: float | None) -> Forecast:
        """Return the newest run as its one member.

        Within steps of six hours the instants are drawn as straight lines, and precipitation is spread
        evenly. There the lowest and highest temperature stand at the hour in which their six hours end, so
        that "the hour that ends then" is six hours long for them.

        Raises
        ------
        http.ServiceError
        """
        asked = {
            "lat": f"{round(latitude, 2) + 0.0:.2f}",
            "lon": f"{round(longitude, 2) + 0.0:.2f}",
        }
        if elevation_m is not None:
            asked["altitude"] = f"{round(elevation_m)}"
        try:
            run = self._client.ask(f"{self._base_url}/complete", asked, _forecast, keep="conditional")
            return replace(run, expires=self._client.expires)
        except ServiceError as error:
            found = re.search(r" answers (\d{3}) ", str(error))
            if found is None or int(found[1]) not in RIGHT:
                raise
            said = f"MET Norway answers {found[1]}" + (f" ({error.reason})" if error.reason else "")
            text = f"{said}; right would be {RIGHT[int(found[1])]}"
            raise ServiceError(error.kind, text, wait_s=error.wait_s, reason=error.reason) from error

    def hours_ahead(self, latitude: float, longitude: float, elevation_m: float | None) -> Forecast:
        """Return the same run: it has all columns."""
        return self.forecast(latitude, longitude, elevation_m)


def _forecast(body: bytes) -> Forecast:
    said = as_json(body)
    try:
        meta, steps = said["properties"]["meta"], said["properties"]["timeseries"]
        issued, series = _moment(meta["updated_at"]), _series(_steps(steps, meta["units"]))
        cell = _cell(said["geometry"]["coordinates"])
    except (AttributeError, KeyError, TypeError) as error:
        raise ValueError(f"an answer of unknown shape, {error!r:.60}; right would be a forecast") from error
    return Forecast(MetNorway.name, issued, cell, (series,), CREDIT)


def _cell(coordinates: Any) -> Cell:
    match coordinates:
        case [int() | float() as longitude, int() | float() as latitude, int() | float() as elevation_m]:
            return Cell(float(latitude), float(longitude), float(elevation_m))
        case [int() | float() as longitude, int() | float() as latitude]:
            return Cell(float(latitude), float(longitude), None)
    raise ValueError(f"coordinates are {coordinates!r:.60}; right would be longitude, latitude and elevation")


def _moment(text: Any) -> datetime:
    try:
        return _EPOCH + (datetime.fromisoformat(text) - _EPOCH)  # in UTC; no sum without a zone
    except (OverflowError, TypeError, ValueError) as error:
        raise ValueError(f"time is {text!r:.60}; right would be such as 2026-05-01T12:00:00Z") from error


def _steps(said: Any, units: Mapping[str, str]) -> list[_Step]:
    """Return the steps in their order; the last has the length of a long one."""
    hours = [_hour(step["time"]) for step in said]
    if not hours:
        raise ValueError("timeseries is empty; right would be some hours")
    lengths = [after - hour for hour, after in pairwise(hours)]
    if any(length < 1 for length in lengths):
        raise ValueError("timeseries is out of order; right would be one time after the other")
    return [
        _Step(hour, length, *(_details(step["data"], part, units) for part in _PARTS))
        for hour, length, step in zip(hours, [*lengths, LONG_STEP_H], said, strict=True)
    ]


def _hour(text: Any) -> int:
    hour = (_moment(text) - _EPOCH) / HOUR
    if hour != int(hour):
        raise ValueError(f"time is {text!r:.60}; right would be a whole hour")
    return int(hour)


def _details(data: Any, part: str, units: Mapping[str, str]) -> dict[str, float]:
    """Return the values of a part that are used here; any of them may be left out."""
    found = data.get(part, {}).get("details", {})
    return {name: _value(name, found[name], units) for name in _UNITS if found.get(name) is not None}


def _value(name: str, value: Any, units: Mapping[str, str]) -> float:
    if type(value) not in {int, float} or not math.isfinite(value):
        raise ValueError(f"{name} is {value!r:.60}; right would be a number")
    if units.get(name) != _UNITS[name]:
        raise ValueError(f"unit of {name} is {units.get(name)!r:.60}; right would be {_UNITS[name]!r}")
    return float(value)


def _series(steps: Sequence[_Step]) -> HourlySeries:
    """Return the hours from the first step to the last that is known."""
    first = steps[0].hour
    n = steps[-1].hour - first + LONG_STEP_H + 1
    if n > MOST_DAYS * 24:
        raise ValueError(f"timeseries spans {n // 24} days; right would be at most {MOST_DAYS}")
    here = [step._replace(hour=step.hour - first) for step in steps]
    values: dict[Column, FloatArray] = {column: _drawn(here, name, n) for column, name in _INSTANTS.items()}
    values |= {column: _ends(here, name, n) for column, name in _EXTREMES.items()}
    values["gust_ms"] = _at(here, "wind_speed_of_gust", n)
    values["precipitation_mm"] = _spread(here, n)
    if np.isnan(values["t_c"]).all():
        raise ValueError("air_temperature has no value at all; right would be some")
    known = ~np.isnan(list(values.values())).all(axis=0)
    end = int(np.flatnonzero(known)[-1]) + 1
    return HourlySeries(_EPOCH + first * HOUR, {column: found[:end] for column, found in values.items()})


def _at(steps: Sequence[_Step], name: str, n: int) -> FloatArray:
    out = np.full(n, np.nan)
    for step in steps:
        out[step.hour] = step.instant.get(name, math.nan)
    return out


def _drawn(steps: Sequence[_Step], name: str, n: int) -> FloatArray:
    """Return straight lines from step to step."""
    out = _at(steps, name, n)
    for step, after in pairwise(steps):
        if step.length_h <= LONG_STEP_H:
            line = np.linspace(out[step.hour], out[after.hour], step.length_h, endpoint=False)
            out[step.hour + 1 : after.hour] = line[1:]
    return out


def _ends(steps: Sequence[_Step], name: str, n: int) -> FloatArray:
    """Return the extremes of six hours at their end, where there are no hourly values to show them."""
    out = np.full(n, np.nan)
    for step in steps:
        if step.length_h > 1:
            out[step.hour + LONG_STEP_H] = step.in_6_h.get(name, math.nan)
    return out


def _spread(steps: Sequence[_Step], n: int) -> FloatArray:
    """Return the amount of each hour at its end: its own, or a sixth of that of six hours; none is used twice."""
    out = np.full(n, np.nan)
    for step in steps:
        if "precipitation_amount" in step.in_1_h:
            out[step.hour + 1] = step.in_1_h["precipitation_amount"]
        else:
            upto = step.hour + min(step.length_h, LONG_STEP_H)
            out[step.hour + 1 : upto + 1] = step.in_6_h.get("precipitation_amount", math.nan) / LONG_STEP_H
    return out
