"""MET Norway's adapter against a real server. Shapes: see `payloads_met_norway`."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from werkzeug import Response

from calendar_core.weather.hourly import HourlySeries, days_of
from calendar_core.weather.sources.http import ServiceError
from calendar_core.weather.sources.met_norway import CREDIT, MetNorway, _forecast
from calendar_core.weather.sources.protocol import Access
from tests.weather.sources.asking import AGENT, Asking, asked
from tests.weather.sources.payloads_met_norway import FAULTS, ONE, PAGE, answer, forecast, hourly, step

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pytest_httpserver import HTTPServer

    from calendar_core.weather.daily import FloatArray
    from calendar_core.weather.hourly import Column
    from calendar_core.weather.sources.protocol import Forecast, ForecastSource

NAN = float("nan")


def source(server: HTTPServer, asking: Asking | None = None) -> ForecastSource:
    return MetNorway(Access((asking or Asking()).client(), server.url_for("/2.0")))


def serve(server: HTTPServer, *replies: Response) -> None:
    """Serve these replies one after the other, then the last again and again."""
    left = list(replies)
    server.expect_request("/2.0/complete").respond_with_handler(
        lambda _: left.pop(0) if len(left) > 1 else left[0]
    )


def forecast_of(server: HTTPServer, said: Any) -> Forecast:
    serve(server, said if isinstance(said, Response) else answer(said))
    return source(server).forecast(60.1, 9.58, 496.0)


def hours_of(server: HTTPServer, *steps: dict[str, Any]) -> HourlySeries:
    (series,) = forecast_of(server, forecast(list(steps))).members
    assert all(len(values) == len(series) for values in series.values.values())
    return series


def failure(server: HTTPServer, *replies: Response, asking: Asking | None = None) -> ServiceError:
    serve(server, *replies)
    with pytest.raises(ServiceError) as caught:
        source(server, asking).forecast(60.1, 9.58, None)
    assert "\n" not in str(caught.value)
    return caught.value


def same(found: FloatArray, wanted: Sequence[float]) -> bool:
    return bool(found.tolist() == pytest.approx(wanted, nan_ok=True))


@pytest.mark.parametrize(
    ("place", "query"),
    [
        ((60.1, 9.58, 496.4), {"lat": "60.10", "lon": "9.58", "altitude": "496"}),
        ((-33.868820, 151.209290, 3.5), {"lat": "-33.87", "lon": "151.21", "altitude": "4"}),
        ((-0.001, 0.0, None), {"lat": "0.00", "lon": "0.00"}),
        ((31.5, 35.47, -430.0), {"lat": "31.50", "lon": "35.47", "altitude": "-430"}),
    ],
)
def test_a_request_has_the_documented_query_and_headers(
    httpserver: HTTPServer, place: tuple[float, float, float | None], query: dict[str, str]
) -> None:
    # At most four decimals and a whole altitude (https://docs.api.met.no/doc/TermsOfService).
    serve(httpserver, answer(forecast(hourly(0, [1.0]))))
    source(httpserver).forecast(*place)
    assert asked(httpserver) == [("/2.0/complete", query)]
    ((request, _),) = httpserver.log
    assert request.headers["User-Agent"] == AGENT
    assert request.headers["Accept-Encoding"] == "gzip"


def test_the_forecast_says_where_it_is_from(httpserver: HTTPServer) -> None:
    found = forecast_of(httpserver, forecast(hourly(0, [1.0])))
    assert found.source == "met-norway"
    assert found.credit == CREDIT
    assert CREDIT.startswith("Data from MET Norway (https://www.met.no/en)")
    assert found.issued == datetime(2026, 5, 1, 0, 4, 26, tzinfo=UTC)
    assert (found.cell.latitude, found.cell.longitude, found.cell.elevation_m) == (60.1, 9.58, 496.0)


def test_a_point_may_lack_its_altitude(httpserver: HTTPServer) -> None:
    cell = forecast_of(httpserver, forecast(hourly(0, [1.0]), coordinates=[10, 60])).cell
    assert (cell.latitude, cell.longitude, cell.elevation_m) == (60.0, 10.0, None)


def test_hours_are_taken_as_they_are(httpserver: HTTPServer) -> None:
    instant = {
        "air_temperature": 20.7,
        "dew_point_temperature": 9.5,
        "relative_humidity": 48.6,
        "cloud_area_fraction": 58.0,
        "wind_speed": 2.5,
        "wind_speed_of_gust": 6.6,
        "wind_from_direction": 151.8,
        "air_pressure_at_sea_level": 1020.5,
    }
    now, later = step("01T13", instant, {"precipitation_amount": 0.4}), step("01T14", instant)
    series = hours_of(httpserver, now, later)
    assert series.start == datetime(2026, 5, 1, 13, tzinfo=UTC)
    wanted: dict[Column, list[float]] = {
        "t_c": [20.7, 20.7],
        "dew_point_c": [9.5, 9.5],
        "humidity_percent": [48.6, 48.6],
        "cloud_percent": [58.0, 58.0],
        "wind_ms": [2.5, 2.5],
        "gust_ms": [6.6, 6.6],
        "precipitation_mm": [NAN, 0.4],
        "t_low_c": [NAN, NAN],
        "radiation_w_m2": [NAN, NAN],
    }
    assert [name for name, values in wanted.items() if not same(series[name], values)] == []


def test_instants_are_drawn_straight_across_six_hours(httpserver: HTTPServer) -> None:
    def instant(value: float) -> dict[str, float]:
        names = "air_temperature", "dew_point_temperature", "relative_humidity", "cloud_area_fraction"
        return dict.fromkeys((*names, "wind_speed", "wind_speed_of_gust"), value)

    steps = step("01T17", instant(7)), step("01T18", instant(6)), step("02T00", instant(0))
    series = hours_of(httpserver, *steps, step("02T06", instant(12)))
    line = [7, 6, 5, 4, 3, 2, 1, 0, 2, 4, 6, 8, 10, 12]
    for name in ("t_c", "dew_point_c", "humidity_percent", "cloud_percent", "wind_ms"):
        assert same(series[name], line)
    # What gusts do between two hours nobody has said.
    assert np.flatnonzero(~np.isnan(series["gust_ms"])).tolist() == [0, 1, 7, 13]


def test_nothing_is_drawn_to_or_across_what_is_missing(httpserver: HTTPServer) -> None:
    series = hours_of(
        httpserver,
        step("01T00", {"air_temperature": 6, "wind_speed": 1}),
        step("01T06", {"air_temperature": 0, "wind_speed": None}),
        step("01T12", {"air_temperature": 6}),
        step("02T00", {"air_temperature": 12, "wind_speed": 2}),
        step("02T06", None),
        step("02T12", {"wind_speed": 3}),
    )
    assert same(series["t_c"][:25], [6, 5, 4, 3, 2, 1, 0, 1, 2, 3, 4, 5, 6, *[NAN] * 11, 12])
    assert np.isnan(series["t_c"][25:]).all()
    assert np.flatnonzero(~np.isnan(series["wind_ms"])).tolist() == [0, 24, 36]
    assert np.isnan(series["precipitation_mm"]).all()


def test_extremes_of_six_hours_stand_at_their_end(httpserver: HTTPServer) -> None:
    six = {"air_temperature_min": -1.5, "air_temperature_max": 8.5}
    longer = step("01T06", {"air_temperature": 5}, None, six)
    # Hourly steps have extremes of their next six hours too, of -30 and 60 degC here, which say nothing new.
    series = hours_of(httpserver, *hourly(4, [5, 5]), longer, step("01T12", {"air_temperature": 5}))
    assert same(series["t_low_c"], [*[NAN] * 8, -1.5])
    assert same(series["t_high_c"], [*[NAN] * 8, 8.5])
    assert series.start == datetime(2026, 5, 1, 4, tzinfo=UTC)


def test_a_frost_between_two_long_steps_is_in_its_day(httpserver: HTTPServer) -> None:
    # Night in Tokyo: 15 to 21 UTC is 0 to 6 local.
    times = [f"{1 + hour // 24:02}T{hour % 24:02}" for hour in range(3, 100, 6)]
    steps = [step(at, {"air_temperature": 9.0}, None, {"air_temperature_min": 4.0}) for at in times]
    steps[8] = step(times[8], {"air_temperature": 9.0}, None, {"air_temperature_min": -2.0})
    assert times[8] == "03T03"
    days = days_of(hours_of(httpserver, *steps), ZoneInfo("Asia/Tokyo"))
    assert days.series.start + timedelta(days=int(np.nanargmin(days.series.t_min_c))) == date(2026, 5, 3)
    assert np.nanmin(days.series.t_min_c) == -2.0


def test_an_amount_is_used_once(httpserver: HTTPServer) -> None:
    def six(amount: float) -> dict[str, float]:
        return {"precipitation_amount": amount}

    t_c = {"air_temperature": 5.0}
    series = hours_of(
        httpserver,
        *hourly(0, [5, 5, 5], rain=0.5),  # each of them says 3 mm for the next six hours as well
        step("01T03", t_c, None, six(12)),
        step("01T09", t_c, None, six(0)),
        step("01T15", t_c),
        step("01T21", t_c, None, six(6)),
    )
    wanted = [NAN, 0.5, 0.5, 0.5, *[2.0] * 6, *[0.0] * 6, *[NAN] * 6, *[1.0] * 6]
    assert same(series["precipitation_mm"], wanted)
    assert np.nansum(series["precipitation_mm"]) == pytest.approx(1.5 + 12 + 6)


def test_six_hours_that_reach_over_the_next_step_give_their_part(httpserver: HTTPServer) -> None:
    # The step from the hourly to the long part may be of another length.
    six = {"precipitation_amount": 6.0}
    t_c = {"air_temperature": 5.0}
    steps = step("01T04", t_c, None, six), step("01T06", t_c, None, {"precipitation_amount": 0.0})
    series = hours_of(httpserver, *steps, step("01T12", t_c))
    assert same(series["precipitation_mm"], [NAN, 1, 1, 0, 0, 0, 0, 0, 0])


@given(
    st.lists(st.floats(0, 50, allow_subnormal=False), max_size=60),
    st.lists(st.floats(0, 300, allow_subnormal=False), min_size=1, max_size=30),
)
def test_the_hours_add_up_to_the_amounts_told(short: list[float], long: list[float]) -> None:
    t_c = {"air_temperature": 5.0}
    hours = [*range(len(short)), *range(len(short), len(short) + 6 * len(long) + 1, 6)]
    parts: list[tuple[dict[str, float] | None, dict[str, float] | None]] = [
        *(({"precipitation_amount": amount}, None) for amount in short),
        *((None, {"precipitation_amount": amount}) for amount in long),
        (None, None),
    ]
    steps = [
        step(f"{1 + hour // 24:02}T{hour % 24:02}", t_c, *told)
        for hour, told in zip(hours, parts, strict=True)
    ]
    (series,) = _forecast(answer(forecast(steps)).data).members
    rain = series["precipitation_mm"]
    assert np.isnan(rain).tolist() == [True] + [False] * (len(rain) - 1)
    assert np.nansum(rain) == pytest.approx(sum(short) + sum(long))


@pytest.mark.parametrize("text", FAULTS)
def test_what_cannot_be_right_is_said_in_one_line_and_not_kept(httpserver: HTTPServer, text: str) -> None:
    asking = Asking()
    error = failure(httpserver, answer(FAULTS[text]), asking=asking)
    assert error.kind == "nonsense"
    assert text in str(error)
    assert "right would be" in str(error)
    assert not asking.shelf


BROKEN = {
    "truncated": b'{"type": "Feature", "geometry": {"type": "Point", "coor',
    "a page": PAGE.encode(),
    "empty": b"",
}


@pytest.mark.parametrize("body", BROKEN.values(), ids=BROKEN)
def test_an_answer_that_is_no_json_is_nonsense(httpserver: HTTPServer, body: bytes) -> None:
    error = failure(httpserver, Response(body))
    assert error.kind == "nonsense"
    assert "right would be JSON" in str(error)


# Statuses and their meaning: https://docs.api.met.no/doc/StatusCodes.
REFUSALS = {
    403: "MET Norway answers 403; right would be a User-Agent header that names the program and a contact",
    404: "MET Norway answers 404; right would be another source, as it has no data for this place",
    422: "MET Norway answers 422; right would be another source, as this place lies outside its area",
}


@pytest.mark.parametrize("status", REFUSALS)
def test_a_refusal_says_what_would_be_right(httpserver: HTTPServer, status: int) -> None:
    error = failure(httpserver, Response(status=status))
    assert (error.kind, str(error)) == ("refused", REFUSALS[status])
    assert len(httpserver.log) == 1


def test_a_refusal_keeps_the_words_of_the_service(httpserver: HTTPServer) -> None:
    error = failure(httpserver, Response("<html><body><h1>Forbidden</h1></body></html>", 403))
    assert error.reason == "Forbidden"
    assert str(error).startswith("MET Norway answers 403 (Forbidden); right would be a User-Agent")


def test_a_bad_request_comes_as_a_page_and_is_refused(httpserver: HTTPServer) -> None:
    error = failure(httpserver, Response(PAGE, 400, content_type="text/html"))
    assert (error.kind, error.reason) == ("refused", "Bad Request Missing or invalid value for lat")
    assert "answers 400" in str(error)


def test_a_limit_is_busy_and_a_failure_down(httpserver: HTTPServer) -> None:
    limit = failure(httpserver, Response(status=429, headers={"Retry-After": "3600"}))
    assert (limit.kind, limit.wait_s) == ("busy", 3600.0)
    httpserver.clear()
    assert failure(httpserver, Response(status=502)).kind == "down"
    assert len(httpserver.log) == 3


def test_a_passing_failure_is_asked_again(httpserver: HTTPServer) -> None:
    serve(httpserver, Response(status=503), answer(forecast(ONE)))
    assert source(httpserver).forecast(60.1, 9.58, None).members


def test_the_end_of_the_product_is_noted_and_its_data_used(httpserver: HTTPServer) -> None:
    client = Asking().client()
    serve(httpserver, answer(forecast(ONE), 203))
    assert MetNorway(Access(client, httpserver.url_for("/2.0"))).forecast(60.1, 9.58, None).members
    assert client.deprecated


def test_nothing_is_asked_before_it_expires_and_then_only_for_newer(httpserver: HTTPServer) -> None:
    # The terms ask for both (https://docs.api.met.no/doc/TermsOfService).
    asking = Asking(datetime(2026, 5, 1, 0, 10, tzinfo=UTC))
    modified, expires = "Fri, 01 May 2026 00:04:26 GMT", "Fri, 01 May 2026 00:36:01 GMT"
    serve(
        httpserver,
        answer(forecast(ONE), Last_Modified=modified, Expires=expires),
        Response(status=304, headers={"Expires": "Fri, 01 May 2026 01:06:00 GMT"}),
    )
    met = source(httpserver, asking)
    first = met.forecast(60.1, 9.58, 496.0)
    assert first.expires == datetime(2026, 5, 1, 0, 36, 1, tzinfo=UTC)
    asking.moment += timedelta(minutes=25)
    assert met.forecast(60.1, 9.58, 496.0).issued == first.issued
    assert len(httpserver.log) == 1
    asking.moment += timedelta(minutes=2)
    later = met.forecast(60.1, 9.58, 496.0)
    assert later.expires == datetime(2026, 5, 1, 1, 6, tzinfo=UTC)
    asking.moment += timedelta(minutes=25)
    met.forecast(60.1, 9.58, 496.0)
    assert len(httpserver.log) == 2
    assert httpserver.log[1][0].headers["If-Modified-Since"] == modified
    assert same(later.members[0]["t_c"], first.members[0]["t_c"].tolist())
