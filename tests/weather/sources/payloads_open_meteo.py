"""Answers in the documented shapes of Open-Meteo (https://open-meteo.com/en/docs), with weather made up here."""

from __future__ import annotations

import json
from calendar import timegm
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from werkzeug import Request, Response

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

UNITS = {
    "time": "unixtime",
    "temperature_2m": "°C",
    "dew_point_2m": "°C",
    "relative_humidity_2m": "%",
    "cloud_cover": "%",
    "wind_speed_10m": "m/s",
    "wind_gusts_10m": "m/s",
    "shortwave_radiation": "W/m²",
    "precipitation": "mm",
    "weather_code": "wmo code",
}

Values = list[float | None]


def hourly(start: datetime, **variables: Values) -> dict[str, Any]:
    """Return an answer with these variables from ``start`` on."""
    first = timegm(start.utctimetuple())
    n = len(next(iter(variables.values())))
    return {
        "latitude": 47.375,
        "longitude": 8.5,
        "generationtime_ms": 0.21,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": 431.0,
        "hourly_units": {name: UNITS[name.split("_member")[0]] for name in ("time", *variables)},
        "hourly": {"time": [first + 3600 * hour for hour in range(n)], **variables},
    }


def warmth(day: date, hour: int) -> float:
    """Return the temperature of an hour, different for all hours of some decades."""
    return round(day.toordinal() % 10_000 / 100 + hour / 10_000, 4)


def archive(*, without: Sequence[date] = ()) -> Callable[[Request], Response]:
    """Return a handler that answers for the days asked, null where it has none."""

    def handler(request: Request) -> Response:
        first, last = (date.fromisoformat(request.args[name]) for name in ("start_date", "end_date"))
        days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
        hours = [(day, hour) for day in days for hour in range(24)]
        start = datetime(first.year, first.month, first.day)  # noqa: DTZ001 - read as UTC by timegm
        said = hourly(
            start,
            temperature_2m=[None if day in without else warmth(day, hour) for day, hour in hours],
            precipitation=[None if day in without else hour / 10 for day, hour in hours],
        )
        return answer(said)

    return handler


def place(**fields: Any) -> dict[str, Any]:
    """Return a place found; a field that is None is left out, as the service does."""
    found = {
        "id": 2657896,
        "name": "Zürich",
        "latitude": 47.36667,
        "longitude": 8.55,
        "elevation": 429.0,
        "feature_code": "PPLA",
        "country_code": "CH",
        "admin1_id": 2657895,
        "timezone": "Europe/Zurich",
        "population": 341730,
        "country_id": 2658434,
        "country": "Switzerland",
        "admin1": "Zurich",
    } | fields
    return {name: value for name, value in found.items() if value is not None}


def places(*found: dict[str, Any]) -> dict[str, Any]:
    """Return the answer with these places; without any it has no list at all."""
    results = {"results": list(found)} if found else {}
    return {**results, "generationtime_ms": 0.6}


def refusal(reason: str) -> dict[str, Any]:
    """Return the body of an error."""
    return {"error": True, "reason": reason}


def answer(said: object, status: int = 200) -> Response:
    """Return the answer as it is sent."""
    return Response(
        json.dumps(said, ensure_ascii=False), status, content_type="application/json; charset=utf-8"
    )
