"""What Open-Meteo answers instead of data, or as data that cannot be right."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest
from werkzeug import Response

from calendar_core.weather.sources.http import ServiceError
from calendar_core.weather.sources.open_meteo import OpenMeteo
from calendar_core.weather.sources.protocol import Access
from tests.weather.sources.asking import Asking
from tests.weather.sources.payloads_open_meteo import answer, hourly, refusal

if TYPE_CHECKING:
    from collections.abc import Callable

    from pytest_httpserver import HTTPServer

MIDNIGHT = datetime(2026, 3, 1, tzinfo=UTC)
RUN = (
    "temperature_2m", "dew_point_2m", "relative_humidity_2m", "cloud_cover", "wind_speed_10m", "wind_gusts_10m",
    "shortwave_radiation", "precipitation", "weather_code",
)  # fmt: skip


@pytest.fixture
def asking() -> Asking:
    return Asking(moment=datetime(2026, 3, 1, 12, 34, 56, tzinfo=UTC))


def failure(server: HTTPServer, asking: Asking, reply: Response) -> ServiceError:
    """Return what a forecast fails with; nothing may be stored."""
    server.expect_request("/v1/forecast").respond_with_response(reply)
    with pytest.raises(ServiceError) as caught:
        OpenMeteo(Access(asking.client(), server.url_for(""))).hours_ahead(99, 8, None)
    assert asking.shelf == {}
    return caught.value


def test_refusal(httpserver: HTTPServer, asking: Asking) -> None:
    reason = "Latitude must be in range of -90 to 90°. Given: 99.0."
    error = failure(httpserver, asking, answer(refusal(reason), 400))
    assert (error.kind, error.reason, error.wait_s) == ("refused", reason, None)
    assert str(error) == f"localhost answers 400 BAD REQUEST: {reason}"
    assert len(httpserver.log) == 1


@pytest.mark.parametrize(
    ("reason", "wait_s"),
    [
        ("Minutely API request limit exceeded. Please try again in one minute.", 60),
        ("Hourly API request limit exceeded. Please try again in the next hour.", 25 * 60 + 4),
        ("Daily API request limit exceeded. Please try again tomorrow.", 11 * 3600 + 25 * 60 + 4),
        ("Too many concurrent requests", None),
    ],
)
def test_limits(httpserver: HTTPServer, asking: Asking, reason: str, wait_s: float | None) -> None:
    error = failure(httpserver, asking, answer(refusal(reason), 429))
    assert (error.kind, error.wait_s, error.reason) == ("busy", wait_s, reason)
    assert len(httpserver.log) == 1
    assert asking.waits == []


def test_limit_with_a_time_of_its_own(httpserver: HTTPServer, asking: Asking) -> None:
    reply = answer(refusal("Minutely API request limit exceeded."), 429)
    reply.headers["Retry-After"] = "3600"
    assert failure(httpserver, asking, reply).wait_s == 3600


def test_streaming_that_fails(httpserver: HTTPServer, asking: Asking) -> None:
    body = (
        b'{"latitude":47.375,"hourly":{"temperature_2m":[1.5,Unexpected error while streaming data: timeout'
    )
    error = failure(httpserver, asking, Response(body, 200, content_type="application/json"))
    assert error.kind == "nonsense"
    assert len(httpserver.log) == 2


def with_part(part: str, **changes: Any) -> Callable[[dict[str, Any]], object]:
    """Return a change of a right answer: these entries of a part of it, left out where they are None."""

    def change(said: dict[str, Any]) -> object:
        changed = {name: value for name, value in {**said[part], **changes}.items() if value is not None}
        return {**said, part: changed}

    return change


FAULTS: list[tuple[Callable[[dict[str, Any]], object], str]] = [
    (lambda said: [said], "[{'latitude'"),
    (lambda _: refusal("Cannot initialize"), "an error in the form of success, 'Cannot initialize'"),
    (lambda said: said | {"latitude": "47"}, "latitude is '47'; right would be a number"),
    (lambda said: said | {"elevation": True}, "elevation is True; right would be a number"),
    (lambda said: said | {"hourly": None}, "hourly is missing; right would be an object"),
    (lambda said: said | {"hourly_units": []}, "hourly_units is []; right would be an object"),
    (with_part("hourly", cloud_cover=None), "cloud_cover is missing; right would be a list"),
    (
        with_part("hourly", cloud_cover=[5, 6]),
        "cloud_cover has 2 values; right would be 3, one for each time",
    ),
    (
        with_part("hourly", precipitation=[0, "1.5", None]),
        "precipitation holds '1.5'; right would be numbers or null",
    ),
    (
        with_part("hourly", temperature_2m=[None] * 3),
        "temperature_2m has no value at all; right would be some",
    ),
    (
        with_part("hourly_units", temperature_2m="°F"),
        "unit of temperature_2m is '°F'; right would be '°C'",
    ),
    (
        with_part("hourly_units", wind_speed_10m="km/h"),
        "unit of wind_speed_10m is 'km/h'; right would be 'm/s'",
    ),
    (with_part("hourly_units", precipitation=None), "unit of precipitation is missing; right would be 'mm'"),
    (with_part("hourly_units", time="iso8601"), "unit of time is 'iso8601'; right would be 'unixtime'"),
    (with_part("hourly", time=["2026-03-01T00:00"]), "time is ['2026-03-01T00:00']; right would be seconds"),
    (with_part("hourly", time=[]), "time is []; right would be seconds since 1970"),
    (with_part("hourly", time=[0, 10800, 21600]), "steps [10800] s; right would be whole hours"),
    (with_part("hourly", time=[1800, 5400, 9000]), "time begins at 1800, steps [3600] s"),
    (
        with_part("hourly", time=[n * 3600 + 36 * 10**20 for n in range(3)]),
        "right would be seconds since 1970",
    ),
]


@pytest.mark.parametrize(("change", "found"), FAULTS, ids=[found for _, found in FAULTS])
def test_data_that_cannot_be(
    httpserver: HTTPServer, asking: Asking, change: Callable[[dict[str, Any]], object], found: str
) -> None:
    said = hourly(MIDNIGHT, **{name: [1.0, None, 2] for name in RUN})
    error = failure(httpserver, asking, answer(change(said)))
    assert error.kind == "nonsense"
    assert found in str(error)
    assert "; right would be " in str(error)
    assert len(httpserver.log) == 2


def test_members_without_values(httpserver: HTTPServer, asking: Asking) -> None:
    said = hourly(MIDNIGHT, temperature_2m=[None], temperature_2m_member01=[None])
    httpserver.expect_request("/v1/ensemble").respond_with_response(answer(said))
    with pytest.raises(ServiceError, match="temperature_2m has no value in 2 members; right would be some"):
        OpenMeteo(Access(asking.client(), httpserver.url_for(""))).forecast(47, 8, None)
