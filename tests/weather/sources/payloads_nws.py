"""Answers of the US National Weather Service, invented, in the shapes it documents, and a server of them.

Source: https://www.weather.gov/documentation/services-web-api (points, gridpoints, problem details).
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from werkzeug import Response

from calendar_core.weather.sources.http import ServiceError
from calendar_core.weather.sources.nws import Nws
from calendar_core.weather.sources.protocol import Access
from tests.weather.sources.asking import Asking

if TYPE_CHECKING:
    from pytest_httpserver import HTTPServer

    from calendar_core.weather.sources.protocol import ForecastSource

UPDATED = "2026-05-01T03:15:41+00:00"
CORNERS = [[-85.0, 30.0], [-85.02, 30.0], [-85.02, 30.02], [-85.0, 30.02], [-85.0, 30.0]]


def answer(said: Any, **headers: str) -> Response:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return Response(json.dumps(said), headers=named, content_type="application/geo+json")


def problem(status: int, name: str, detail: str) -> Response:
    """Return an error; the service sends problem details (RFC 9457, then RFC 7807)."""
    said = {
        "correlationId": "1a2b3c4d",
        "title": name,
        "type": f"https://api.weather.gov/problems/{name.replace(' ', '')}",
        "status": status,
        "detail": detail,
        "instance": "https://api.weather.gov/requests/1a2b3c4d",
    }
    return Response(json.dumps(said), status, content_type="application/problem+json")


def point(office: str | None = "TAE", x: int | None = 58, y: int | None = 65) -> dict[str, Any]:
    """Return a point; its numbers are numbers."""
    grid = f"https://api.weather.gov/gridpoints/{office}/{x},{y}" if office else None
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [-85, 30]},
        "properties": {
            "gridId": office,
            "gridX": x,
            "gridY": y,
            "forecastGridData": grid,
            "timeZone": "America/New_York",
        },
    }


def layer(unit: str, *intervals: tuple[str, float | None]) -> dict[str, Any]:
    """Return a layer of the grid from day, hour and duration, such as 01T06/PT3H, in May 2026."""
    values = [
        {"validTime": f"2026-05-{begin}:00:00+00:00/{length}", "value": value}
        for text, value in intervals
        for begin, length in [text.split("/")]
    ]
    return {"uom": unit, "values": values}


def grid(office: str = "TAE", x: str = "58", y: str = "65", **layers: Any) -> dict[str, Any]:
    """Return a cell of the grid; its numbers are text. Without layers it has a day of 10 degC."""
    return {
        "type": "Feature",
        "geometry": {"type": "Polygon", "coordinates": [CORNERS]},
        "properties": {
            "updateTime": UPDATED,
            "validTimes": "2026-05-01T00:00:00+00:00/P7DT14H",
            "elevation": {"unitCode": "wmoUnit:m", "value": 3.9624},
            "gridId": office,
            "gridX": x,
            "gridY": y,
            "temperature": layer("wmoUnit:degC", ("01T00/P1D", 10)),
            "pressure": {"values": []},
            "weather": {"values": [{"validTime": "2026-05-01T00:00:00+00:00/PT6H", "value": [{}]}]},
            **layers,
        },
    }


def source(server: HTTPServer, asking: Asking | None = None) -> ForecastSource:
    return Nws(Access((asking or Asking()).client(), server.url_for("/")))


def serve(server: HTTPServer, path: str, *replies: Response) -> None:
    """Serve these replies one after the other, then the last again and again."""
    left = list(replies)
    server.expect_request(path).respond_with_handler(lambda _: left.pop(0) if len(left) > 1 else left[0])


def failure(server: HTTPServer, asking: Asking | None = None) -> ServiceError:
    with pytest.raises(ServiceError) as caught:
        source(server, asking).forecast(30.0, -85.0, None)
    assert "\n" not in str(caught.value)
    return caught.value
