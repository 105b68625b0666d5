"""A weather service on this machine that answers in the documented shapes; its weather is invented."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
from werkzeug import Response

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from pytest_httpserver import HTTPServer
    from werkzeug import Request

HEAD = {
    "latitude": 36.65,
    "longitude": 138.2,
    "generationtime_ms": 0.2,
    "utc_offset_seconds": 0,
    "timezone": "GMT",
    "timezone_abbreviation": "GMT",
    "elevation": 420.0,
}


STEADY = {
    "dew_point_2m": (8.0, "°C"),
    "relative_humidity_2m": (60, "%"),
    "cloud_cover": (25, "%"),
    "wind_speed_10m": (2.5, "m/s"),
    "wind_gusts_10m": (6.0, "m/s"),
    "shortwave_radiation": (200.0, "W/m²"),
    "precipitation": (0.0, "mm"),
    "weather_code": (96, "wmo code"),
}  # invented: the same at all hours


def temperature(
    hours: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Invented temperature [degC] of hours since 1970: a year, a day and some weather."""
    day = hours / 24
    year = 12 - 12 * np.cos(2 * np.pi * (day - 25) / 365.25)
    return np.asarray(
        year - 5 * np.cos(2 * np.pi * (hours - 20) / 24) + 3 * np.sin(day / 3.1) + 2 * np.sin(day * 1.7)
    )


@cache
def _temperatures(first: date, last: date) -> tuple[list[int], list[float]]:
    """Return the hours of days, in seconds since 1970, and their temperature."""
    start = datetime(first.year, first.month, first.day, tzinfo=UTC)
    times = [int(start.timestamp()) + 3600 * hour for hour in range(((last - first).days + 1) * 24)]
    return times, [round(float(value), 1) for value in temperature(np.array(times) / 3600)]


@dataclass
class WeatherService:
    """The five addresses of the service; after ``down_after`` answers, and at those ``down``, it fails with 503."""

    server: HTTPServer
    today: date
    asked: list[dict[str, str]] = field(default_factory=list)
    down_after: int = 10_000
    down: frozenset[str] = frozenset()
    spike: datetime | None = None
    town: str = "Nagano"
    colder_by: float = 0.0  # [K] in the days to come

    def __post_init__(self) -> None:
        for path, answer in {
            "archive": self._archive,
            "ensemble": self._ensemble,
            "forecast": self._single_run,
            "search": self._search,
        }.items():
            self.server.expect_request(f"/v1/{path}").respond_with_handler(self._or_down(answer))

    @property
    def base(self) -> str:
        """Where it is found."""
        return self.server.url_for("").rstrip("/")

    def _or_down(self, answer: Any) -> Any:
        def respond(request: Request) -> Response:
            self.asked.append({"path": request.path, **request.args.to_dict()})
            if len(self.asked) > self.down_after or request.path in self.down:
                return Response('{"error":true,"reason":"The service is overloaded"}', 503)
            return Response(json.dumps(answer(request.args)), 200, content_type="application/json")

        return respond

    def _hours(self, first: date, last: date) -> tuple[list[int], list[float | None]]:
        today = datetime(self.today.year, self.today.month, self.today.day, tzinfo=UTC)
        times, known = _temperatures(first, last)
        until = (today - timedelta(days=5)).timestamp()  # so far is the archive behind
        values = [value if time < until else None for time, value in zip(times, known, strict=True)]
        if self.spike is not None and int(self.spike.timestamp()) in times:
            values[times.index(int(self.spike.timestamp()))] = -40.0
        return times, values

    def _archive(self, args: Any) -> dict[str, Any]:
        times, values = self._hours(
            date.fromisoformat(args["start_date"]), date.fromisoformat(args["end_date"])
        )
        rain = [None if value is None else 0.1 for value in values]
        units = {"time": "unixtime", "temperature_2m": "°C", "precipitation": "mm"}
        hourly = {"time": times, "temperature_2m": values, "precipitation": rain}
        return HEAD | {"hourly_units": units, "hourly": hourly}

    def _ensemble(self, args: Any) -> dict[str, Any]:
        days, past = int(args["forecast_days"]), int(args.get("past_days", 0))
        start = datetime(self.today.year, self.today.month, self.today.day, tzinfo=UTC) - timedelta(days=past)
        times = [int((start + timedelta(hours=h)).timestamp()) for h in range((days + past) * 24)]
        level = temperature(np.array(times) / 3600) - self.colder_by
        names = ["temperature_2m", *(f"temperature_2m_member{n:02d}" for n in range(1, 5))]
        members = {name: [round(float(v) + 0.3 * i, 1) for v in level] for i, name in enumerate(names)}
        return HEAD | {
            "hourly_units": {"time": "unixtime", **dict.fromkeys(names, "°C")},
            "hourly": {"time": times, **members},
        }

    def _single_run(self, args: Any) -> dict[str, Any]:
        days, past = int(args["forecast_days"]), int(args["past_days"])
        start = datetime(self.today.year, self.today.month, self.today.day, tzinfo=UTC) - timedelta(days=past)
        times = [int((start + timedelta(hours=h)).timestamp()) for h in range((days + past) * 24)]
        steady = {name: [value] * len(times) for name, (value, _) in STEADY.items()}
        level = [round(float(v), 1) for v in temperature(np.array(times) / 3600) - self.colder_by]
        units = {name: unit for name, (_, unit) in STEADY.items()}
        return HEAD | {
            "hourly_units": {"time": "unixtime", "temperature_2m": "°C", **units},
            "hourly": {"time": times, "temperature_2m": level, **steady},
        }

    def _search(self, args: Any) -> dict[str, Any]:
        if args["name"] != self.town:
            return {"generationtime_ms": 0.1}
        hit = {"id": 1, "name": self.town, "latitude": 36.65, "longitude": 138.18, "elevation": 400.0,
               "timezone": "Asia/Tokyo", "country_code": "JP", "country": "Japan", "admin1": "Nagano"}  # fmt: skip
        return {"results": [hit, {**hit, "id": 2, "admin1": "Chiba", "latitude": 35.5, "longitude": 140.1}]}
