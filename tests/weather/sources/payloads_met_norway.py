"""Answers of MET Norway's point forecast, invented, in the shape it documents.

Source: https://docs.api.met.no/doc/ForecastJSON and /doc/locationforecast/datamodel.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from werkzeug import Response

UNITS = {
    "air_pressure_at_sea_level": "hPa",
    "air_temperature": "celsius",
    "air_temperature_max": "celsius",
    "air_temperature_min": "celsius",
    "cloud_area_fraction": "%",
    "dew_point_temperature": "celsius",
    "precipitation_amount": "mm",
    "relative_humidity": "%",
    "ultraviolet_index_clear_sky": "1",
    "wind_from_direction": "degrees",
    "wind_speed": "m/s",
    "wind_speed_of_gust": "m/s",
}
PAGE = (
    "<!DOCTYPE html><html><head><title>400 Bad Request</title><style>h1 {color: red}</style></head>"
    "<body><h1>Bad Request</h1><p>Missing or invalid value for lat</p></body></html>"
)

Values = Mapping[str, object]


def step(
    at: str, instant: Values | None, in_1_h: Values | None = None, in_6_h: Values | None = None
) -> dict[str, Any]:
    """Return one time of the series, ``at`` such as 01T06 in May 2026, with the parts that are given."""
    parts = {"next_1_hours": in_1_h, "next_6_hours": in_6_h}
    periods = {
        name: {"summary": {"symbol_code": "cloudy"}, "details": values}
        for name, values in parts.items()
        if values is not None
    }
    now = {} if instant is None else {"instant": {"details": instant}}
    return {"time": f"2026-05-{at}:00:00Z", "data": {**now, **periods, "next_12_hours": {"summary": {}}}}


def hourly(first: int, temperatures: list[float], rain: float = 0.0) -> list[dict[str, Any]]:
    """Return hourly steps from hour ``first`` of 1 May on; as is documented, each has its next six hours too."""
    return [
        step(
            f"{1 + hour // 24:02}T{hour % 24:02}",
            {"air_temperature": t_c},
            {"precipitation_amount": rain},
            {"precipitation_amount": 6 * rain, "air_temperature_min": -30.0, "air_temperature_max": 60.0},
        )
        for hour, t_c in enumerate(temperatures, first)
    ]


def forecast(
    steps: list[dict[str, Any]],
    units: dict[str, str] = UNITS,
    coordinates: Any = (9.58, 60.1, 496),
    updated_at: str = "2026-05-01T00:04:26Z",
) -> dict[str, Any]:
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": coordinates},
        "properties": {"meta": {"updated_at": updated_at, "units": units}, "timeseries": steps},
    }


def answer(said: Any, status: int = 200, **headers: str) -> Response:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return Response(json.dumps(said), status, named, content_type="application/json")


ONE = hourly(0, [1.0])
FAULTS: dict[str, Any] = {
    "unit of air_temperature is 'fahrenheit'; right would be 'celsius'": forecast(
        ONE, {**UNITS, "air_temperature": "fahrenheit"}
    ),
    "unit of air_temperature is None; right would be 'celsius'": forecast(ONE, {}),
    "air_temperature is 'mild'; right would be a number": forecast(
        [step("01T00", {"air_temperature": "mild"})]
    ),
    "air_temperature is nan; right would be a number": forecast(
        [step("01T00", {"air_temperature": float("nan")})]
    ),
    "air_temperature has no value at all; right would be some": forecast([step("01T00", {"wind_speed": 1})]),
    "timeseries is empty; right would be some hours": forecast([]),
    "timeseries is out of order; right would be one time after the other": forecast([*ONE, *ONE]),
    "timeseries spans 31 days; right would be at most 30": forecast(
        [*ONE, step("31T23", {"air_temperature": 1.0})]
    ),
    "time is '2026-05-01T00:30:00Z'; right would be a whole hour": forecast(
        [{**ONE[0], "time": "2026-05-01T00:30:00Z"}]
    ),
    "time is '2026-05-01T00:00:00'; right would be such as 2026-05-01T12:00:00Z": forecast(
        [{**ONE[0], "time": "2026-05-01T00:00:00"}]
    ),
    "time is 'now'; right would be such as 2026-05-01T12:00:00Z": forecast(ONE, updated_at="now"),
    "coordinates are [9.58]; right would be longitude, latitude and elevation": forecast(
        ONE, coordinates=[9.58]
    ),
    "coordinates are None; right would be longitude, latitude and elevation": forecast(ONE, coordinates=None),
    "an answer of unknown shape, KeyError('data'); right would be a forecast": forecast(
        [{"time": "2026-05-01T00:00:00Z"}]
    ),
    "an answer of unknown shape, KeyError('properties'); right would be a forecast": {},
    "an answer of unknown shape, AttributeError": forecast([{**ONE[0], "data": None}]),
    "an answer of unknown shape, TypeError": [],
}
