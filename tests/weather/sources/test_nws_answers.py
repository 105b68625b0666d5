"""What the US National Weather Service's adapter makes of faults, refusals, moved grids and kept answers."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from werkzeug import Response

from calendar_core.weather.sources.nws import OUTSIDE
from tests.weather.sources.asking import Asking, asked
from tests.weather.sources.payloads_nws import answer, failure, grid, layer, point, problem, serve, source

if TYPE_CHECKING:
    from pytest_httpserver import HTTPServer

GONE = problem(404, "Not Found", "Not Found")
BEGIN = "2026-05-01T00:00:00+00:00"
FAULTS: dict[str, dict[str, Any]] = {
    "unit of temperature is 'wmoUnit:degF'; right would be degC": {
        "temperature": layer("wmoUnit:degF", ("01T00/P1D", 50))
    },
    "unit of windSpeed is 'wmoUnit:knot'; right would be km_h-1 or m_s-1": {
        "windSpeed": layer("wmoUnit:knot", ("01T00/P1D", 5))
    },
    "unit of skyCover is missing; right would be percent": {
        "skyCover": {"values": [{"validTime": f"{BEGIN}/PT1H", "value": 5}]}
    },
    "unit of elevation is 'wmoUnit:ft'; right would be m": {
        "elevation": {"unitCode": "wmoUnit:ft", "value": 9}
    },
    "temperature has no value at all; right would be some": {
        "temperature": layer("wmoUnit:degC", ("01T00/P1D", None))
    },
    "temperature holds 'warm'; right would be a number or null": {
        "temperature": {"uom": "wmoUnit:degC", "values": [{"validTime": f"{BEGIN}/PT1H", "value": "warm"}]}
    },
    "temperature holds True; right would be a number or null": {
        "temperature": {"uom": "wmoUnit:degC", "values": [{"validTime": f"{BEGIN}/PT1H", "value": True}]}
    },
    "temperature holds inf; right would be a number or null": {
        "temperature": layer("wmoUnit:degC", ("01T00/P1D", float("inf")))
    },
    "right would be values, each with validTime and value": {
        "dewpoint": {"values": [{"validTime": f"{BEGIN}/PT1H"}]}
    },
    "dewpoint is 'cool'; right would be values, each with validTime and value": {"dewpoint": "cool"},
    "the cell is 'TAE/58,None'; right would be such as 'TAE/58,65'": {"gridY": None},
    "the cell is '../8,65'; right would be such as 'TAE/58,65'": {"gridId": "..", "gridX": "8"},
    "time is 'today'; right would be such as 2026-05-01T12:00:00Z": {"updateTime": "today"},
    "time is '2026-05-01T00:00:00'; right would be such as 2026-05-01T12:00:00Z": {
        "updateTime": "2026-05-01T00:00:00"
    },
    "time is missing; right would be such as 2026-05-01T12:00:00Z": {"updateTime": None},
    "the grid spans 61 days; right would be at most 30": {
        "dewpoint": layer("wmoUnit:degC", ("01T00/P61D", 5))
    },
    **{
        f"interval is {text!r}; right would be such as 2026-05-01T12:00:00+00:00/PT6H": {
            "dewpoint": {"uom": "wmoUnit:degC", "values": [{"validTime": text, "value": 5}]}
        }
        for text in (f"{BEGIN}/P", f"{BEGIN}/PT", f"{BEGIN}/P1DT", f"{BEGIN}/PT0H", f"{BEGIN}/PT1.5H", BEGIN)
    },
}


@pytest.mark.parametrize("text", FAULTS)
def test_what_cannot_be_right_is_said_in_one_line_and_not_kept(httpserver: HTTPServer, text: str) -> None:
    asking = Asking()
    serve(httpserver, "/points/30,-85", answer(point()))
    serve(httpserver, "/gridpoints/TAE/58,65", answer(grid(**FAULTS[text])))
    error = failure(httpserver, asking)
    assert error.kind == "nonsense"
    assert text in str(error)
    assert [path for path in asking.shelf if "gridpoints" in path] == []


@pytest.mark.parametrize(
    ("said", "text"),
    [
        ([], "properties is missing; right would be an object"),
        ({"properties": 5}, "properties is 5; right would be an object"),
        ({"properties": {"gridId": "a/b", "gridX": 1, "gridY": 2}}, "the cell is 'a/b/1,2'; right would be"),
    ],
)
def test_a_point_of_another_shape_is_nonsense(httpserver: HTTPServer, said: Any, text: str) -> None:
    serve(httpserver, "/points/30,-85", answer(said))
    error = failure(httpserver)
    assert error.kind == "nonsense"
    assert text in str(error)


BROKEN = {
    "truncated": b'{"type": "Feature", "properties": {"updateTime": "2026-',
    "a page": b"<!DOCTYPE html><html><body><h1>Scheduled maintenance</h1></body></html>",
    "empty": b"",
}


@pytest.mark.parametrize("body", BROKEN.values(), ids=BROKEN)
def test_an_answer_that_is_no_json_is_nonsense(httpserver: HTTPServer, body: bytes) -> None:
    serve(httpserver, "/points/30,-85", answer(point()))
    serve(httpserver, "/gridpoints/TAE/58,65", Response(body))
    error = failure(httpserver)
    assert error.kind == "nonsense"
    assert "right would be JSON" in str(error)


def test_a_passing_failure_is_asked_again(httpserver: HTTPServer) -> None:
    # The service fails now and then (https://github.com/weather-gov/api/issues/19).
    serve(
        httpserver,
        "/points/30,-85",
        problem(500, "Unexpected Problem", "An unexpected problem"),
        answer(point()),
    )
    failing = problem(503, "Forecast Grid Expired", "The requested grid is too old")
    serve(httpserver, "/gridpoints/TAE/58,65", failing, failing, answer(grid()))
    assert source(httpserver).forecast(30.0, -85.0, None).members
    assert len(httpserver.log) == 5


def test_a_lasting_failure_is_told_in_the_words_of_the_service(httpserver: HTTPServer) -> None:
    serve(httpserver, "/points/30,-85", answer(point()))
    serve(httpserver, "/gridpoints/TAE/58,65", problem(503, "Forecast Grid Expired", "The grid is too old"))
    error = failure(httpserver)
    assert (error.kind, error.reason) == ("down", "The grid is too old")
    assert "503" in str(error)


def test_a_limit_is_busy(httpserver: HTTPServer) -> None:
    limit = problem(429, "Too Many Requests", "Rate limit")
    limit.headers["Retry-After"] = "3600"
    serve(httpserver, "/points/30,-85", limit)
    error = failure(httpserver)
    assert (error.kind, error.wait_s) == ("busy", 3600.0)
    assert len(httpserver.log) == 1


def test_outside_the_united_states_another_source_is_right(httpserver: HTTPServer) -> None:
    detail = "Unable to provide data for requested point 47.3769,8.5417"
    serve(httpserver, "/points/30,-85", problem(404, "Data Unavailable For Requested Point", detail))
    error = failure(httpserver)
    assert (error.kind, str(error), error.reason) == ("refused", OUTSIDE, detail)
    assert "covers the United States only; right would be another source" in OUTSIDE
    assert len(httpserver.log) == 1


def test_a_point_without_a_cell_is_outside_too(httpserver: HTTPServer) -> None:
    # https://github.com/weather-gov/api/issues/51: a point whose grid is null.
    serve(httpserver, "/points/30,-85", answer(point(None, None, None)))
    error = failure(httpserver)
    assert (error.kind, str(error)) == ("refused", OUTSIDE)


def test_a_refused_point_is_not_taken_for_one_outside(httpserver: HTTPServer) -> None:
    serve(httpserver, "/points/30,-85", Response("Access Denied", 403))
    error = failure(httpserver)
    assert (error.kind, error.reason) == ("refused", "Access Denied")
    assert "403" in str(error)


def moved(server: HTTPServer, old: Response, asking: Asking) -> None:
    """Keep the point of an earlier day; since then its cell has moved."""
    asking.moment = datetime(2026, 5, 1, 2, tzinfo=UTC)
    first = answer(point(), Cache_Control="public, max-age=86400")
    serve(server, "/points/30,-85", first, answer(point("TAE", 60, 66)))
    serve(server, "/gridpoints/TAE/58,65", answer(grid()), old)
    serve(server, "/gridpoints/TAE/60,66", answer(grid("TAE", "60", "66", elevation=None)))
    source(server, asking).forecast(30.0, -85.0, None)
    asking.moment += timedelta(hours=6)
    server.clear_log()


@pytest.mark.parametrize("old", [GONE, answer(grid("TAE", "57", "64"))], ids=["404", "another cell"])
def test_a_moved_grid_is_looked_up_anew(httpserver: HTTPServer, old: Response) -> None:
    asking = Asking()
    moved(httpserver, old, asking)
    forecast = source(httpserver, asking).forecast(30.0, -85.0, None)
    assert forecast.cell.elevation_m is None
    paths = [path for path, _ in asked(httpserver)]
    assert paths == ["/gridpoints/TAE/58,65", "/points/30,-85", "/gridpoints/TAE/60,66"]
    assert not any(b'"gridX": "57"' in kept.body for kept in asking.shelf.values())


def test_a_grid_is_looked_up_anew_only_once(httpserver: HTTPServer) -> None:
    detail = "Forecasts for marine areas are not yet supported by this API"
    serve(httpserver, "/points/30,-85", answer(point()))
    serve(httpserver, "/gridpoints/TAE/58,65", problem(404, "Marine Forecast Not Supported", detail))
    error = failure(httpserver)
    assert error.kind == "refused"
    text = f"the US National Weather Service has no cell TAE/58,65: {detail}; right would be another source"
    assert str(error) == text
    assert [path for path, _ in asked(httpserver)] == ["/points/30,-85", "/gridpoints/TAE/58,65"] * 2


def test_only_what_is_newer_is_asked_for(httpserver: HTTPServer) -> None:
    asking = Asking(datetime(2026, 5, 1, 4, tzinfo=UTC))
    modified = "Fri, 01 May 2026 03:15:41 GMT"
    headers = {"Last_Modified": modified, "Cache_Control": "public, max-age=3600, s-maxage=120"}
    serve(httpserver, "/points/30,-85", answer(point(), Cache_Control="public, max-age=86400"))
    not_newer = Response(status=304, headers={"Cache-Control": "max-age=3600"})
    serve(httpserver, "/gridpoints/TAE/58,65", answer(grid(), **headers), not_newer)
    nws = source(httpserver, asking)
    first = nws.forecast(30.0, -85.0, None)
    assert first.expires == datetime(2026, 5, 1, 5, tzinfo=UTC)
    asking.moment += timedelta(minutes=50)
    again = nws.forecast(30.0, -85.0, None)
    assert len(httpserver.log) == 2
    asking.moment += timedelta(minutes=50)
    later = nws.forecast(30.0, -85.0, None)
    assert len(httpserver.log) == 3
    assert httpserver.log[-1][0].headers["If-Modified-Since"] == modified
    assert first.issued == again.issued == later.issued
    assert np.array_equal(later.members[0]["t_c"], first.members[0]["t_c"], equal_nan=True)
