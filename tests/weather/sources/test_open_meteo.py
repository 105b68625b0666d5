"""Open-Meteo against a server that speaks as its documentation says (https://open-meteo.com/en/docs)."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from werkzeug import Response

from calendar_core.weather.hourly import MEANINGS
from calendar_core.weather.sources.http import KeptAnswer, ServiceError
from calendar_core.weather.sources.open_meteo import CREDIT, OpenMeteo
from calendar_core.weather.sources.protocol import Access, Cell
from tests.weather.sources.asking import Asking, asked
from tests.weather.sources.payloads_open_meteo import answer, archive, hourly, refusal, warmth

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pytest_httpserver import HTTPServer

MIDNIGHT = datetime(2026, 3, 1, tzinfo=UTC)
HERE = (47.3769, 8.5417, 408.4)
WHERE = {
    "latitude": "47.38",
    "longitude": "8.54",
    "elevation": "408",
    "timezone": "GMT",
    "timeformat": "unixtime",
}
NAMES = {
    "t_c": "temperature_2m",
    "dew_point_c": "dew_point_2m",
    "humidity_percent": "relative_humidity_2m",
    "cloud_percent": "cloud_cover",
    "wind_ms": "wind_speed_10m",
    "gust_ms": "wind_gusts_10m",
    "radiation_w_m2": "shortwave_radiation",
    "precipitation_mm": "precipitation",
    "weather_code": "weather_code",
}


@pytest.fixture
def asking() -> Asking:
    return Asking()


def service(server: HTTPServer, asking: Asking, key: str | None = None, **how: Any) -> OpenMeteo:
    return OpenMeteo(Access(asking.client(), server.url_for(""), key), **how)


def serve(server: HTTPServer, path: str, said: object, status: int = 200) -> None:
    server.expect_request(f"/v1/{path}", method="GET").respond_with_response(answer(said, status))


# -- forecasts ---------------------------------------------------------------------------------------------


def test_ensemble(httpserver: HTTPServer, asking: Asking) -> None:
    said = hourly(
        MIDNIGHT,
        temperature_2m_member02=[4, 5, 6],
        temperature_2m=[0.1, -0.2, None],
        temperature_2m_member01=[1, 2, 3],
        temperature_2m_member10=[7, 8, 9],
        temperature_2m_member03=[None, None, None],
    )
    serve(httpserver, "ensemble", said)
    found = service(httpserver, asking).forecast(*HERE)
    query = {
        "hourly": "temperature_2m",
        "models": "ecmwf_ifs025_ensemble",
        "forecast_days": "15",
        "past_days": "7",
    }
    assert asked(httpserver) == [("/v1/ensemble", WHERE | query)]
    assert (found.source, found.issued) == ("open-meteo", asking.moment)
    assert found.cell == Cell(47.375, 8.5, 431.0)
    assert {member.start for member in found.members} == {MIDNIGHT}
    assert {tuple(member.values) for member in found.members} == {("t_c",)}
    got = [member["t_c"] for member in found.members]
    np.testing.assert_array_equal(got, [[0.1, -0.2, np.nan], [1, 2, 3], [4, 5, 6], [7, 8, 9]])


def test_single_run(httpserver: HTTPServer, asking: Asking) -> None:
    variables: dict[str, list[float | None]] = {
        name: [n, n + 0.5, None] for n, name in enumerate(NAMES.values())
    }
    serve(httpserver, "forecast", hourly(MIDNIGHT, **variables))
    found = service(httpserver, asking).hours_ahead(*HERE)
    (path, query) = asked(httpserver)[0]
    assert path == "/v1/forecast"
    variables_asked = set(query.pop("hourly").split(","))
    assert variables_asked == set(NAMES.values())
    assert query == WHERE | {"wind_speed_unit": "ms", "forecast_days": "10", "past_days": "3"}
    # Above 10 variables or 14 days it would weigh more than one call (https://open-meteo.com/en/pricing).
    assert len(variables_asked) <= 10
    assert int(query["forecast_days"]) + int(query["past_days"]) <= 14
    assert found.source == "open-meteo single run"
    (run,) = found.members
    assert set(run.values) == set(NAMES) <= set(MEANINGS)
    for column, name in NAMES.items():
        expected = [np.nan if value is None else value for value in variables[name]]
        np.testing.assert_array_equal(run.values[column], expected)  # type: ignore[index]


def test_past_days_of_the_single_run(httpserver: HTTPServer, asking: Asking) -> None:
    serve(httpserver, "forecast", hourly(MIDNIGHT, **{name: [None, 1.0] for name in NAMES.values()}))
    service(httpserver, asking).hours_ahead(*HERE, past_days=7)
    assert asked(httpserver)[0][1]["past_days"] == "7"


@pytest.mark.parametrize(
    ("place_asked", "sent"),
    [
        ((-33.86785, 151.20732, None), {"latitude": "-33.87", "longitude": "151.21"}),
        ((-0.0049, -0.001, -3.6), {"latitude": "0.00", "longitude": "0.00", "elevation": "-4"}),
        ((90.0, -180.0, 0.0), {"latitude": "90.00", "longitude": "-180.00", "elevation": "0"}),
    ],
)
def test_place_is_rounded(
    httpserver: HTTPServer,
    asking: Asking,
    place_asked: tuple[float, float, float | None],
    sent: dict[str, str],
) -> None:
    serve(httpserver, "ensemble", hourly(MIDNIGHT, temperature_2m=[1]))
    service(httpserver, asking).forecast(*place_asked)
    query = asked(httpserver)[0][1]
    assert {name: query[name] for name in query if name in {"latitude", "longitude", "elevation"}} == sent


def test_elevation_may_be_unknown(httpserver: HTTPServer, asking: Asking) -> None:
    said = hourly(MIDNIGHT, temperature_2m=[1])
    del said["elevation"]
    serve(httpserver, "ensemble", said)
    assert service(httpserver, asking).forecast(*HERE).cell.elevation_m is None


def test_old_forecast_while_the_service_is_down(httpserver: HTTPServer, asking: Asking) -> None:
    httpserver.expect_oneshot_request("/v1/ensemble").respond_with_response(
        answer(hourly(MIDNIGHT, temperature_2m=[1.5]))
    )
    serve(httpserver, "ensemble", refusal("The service is overloaded"), 503)
    before = asking.moment
    fresh = service(httpserver, asking).forecast(*HERE)
    asking.moment += timedelta(hours=7)
    old = service(httpserver, asking).forecast(*HERE)
    assert (fresh.issued, old.issued) == (before, before)
    assert old.members[0]["t_c"].tolist() == [1.5]


@pytest.mark.parametrize(
    ("method", "path", "past"), [("forecast", "ensemble", 7), ("hours_ahead", "forecast", 3)]
)
def test_a_run_is_as_old_as_its_days(
    httpserver: HTTPServer, asking: Asking, method: str, path: str, past: int
) -> None:
    """A service that goes on giving one run tells so by the days it begins with, whenever it is asked."""
    made = MIDNIGHT + timedelta(days=past)
    names: Iterable[str] = ["temperature_2m"] if method == "forecast" else NAMES.values()
    serve(httpserver, path, hourly(MIDNIGHT, **{key: [1.0, None] for key in names}))
    issued = []
    for hours in (1, 9, 23, 24, 60, 200):
        asking.moment = made + timedelta(hours=hours)
        issued.append(getattr(service(httpserver, asking), method)(*HERE).issued)
    end = made + timedelta(hours=24, seconds=-1)
    assert issued == [
        made + timedelta(hours=1),
        made + timedelta(hours=9),
        made + timedelta(hours=23),
        end,
        end,
        end,
    ]


def test_not_modified_is_not_made_anew(httpserver: HTTPServer, asking: Asking) -> None:
    asking.moment = before = MIDNIGHT + timedelta(days=7, hours=2)
    whole = answer(hourly(MIDNIGHT, temperature_2m=[1.5]))
    whole.headers["Last-Modified"] = "Sun, 01 Mar 2026 01:52:07 GMT"
    httpserver.expect_oneshot_request("/v1/ensemble").respond_with_response(whole)
    httpserver.expect_request("/v1/ensemble").respond_with_response(Response("", 304))
    service(httpserver, asking).forecast(*HERE)
    asking.moment += timedelta(hours=9)
    assert service(httpserver, asking).forecast(*HERE).issued == before


# -- hosts, keys, credits ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("key", "prefix"), [(None, ""), ("s3cret", "customer-")])
def test_hosts(asking: Asking, key: str | None, prefix: str) -> None:
    """The real hosts, not asked here: the answers are stored under the addresses that would be asked."""
    where = "elevation=408&forecast_days={}&hourly={}&latitude=47.38&longitude=8.54&{}&timeformat=unixtime&timezone=GMT"
    ensemble = where.format(15, "temperature_2m", "models=ecmwf_ifs025_ensemble&past_days=7")
    url = f"https://{prefix}ensemble-api.open-meteo.com/v1/ensemble?{ensemble}"
    body = json.dumps(hourly(MIDNIGHT, temperature_2m=[1.5])).encode()
    asking.shelf.put(KeptAnswer(url, None, None, asking.moment + timedelta(hours=1), asking.moment, body))
    found = OpenMeteo(Access(asking.client(), key=key)).forecast(*HERE)
    assert found.members[0]["t_c"].tolist() == [1.5]


def test_key_is_sent(httpserver: HTTPServer, asking: Asking) -> None:
    serve(httpserver, "ensemble", hourly(MIDNIGHT, temperature_2m=[1]))
    service(httpserver, asking, key="s3cret", model="ncep_gefs025").forecast(*HERE)
    query = asked(httpserver)[0][1]
    assert (query["apikey"], query["models"]) == ("s3cret", "ncep_gefs025")


def test_credits(httpserver: HTTPServer, asking: Asking) -> None:
    """The licence page asks for the link; the Copernicus licence, 5.1.2 and 5.1.3, for year and disclaimer."""
    serve(httpserver, "ensemble", hourly(MIDNIGHT, temperature_2m=[1]))
    open_meteo = service(httpserver, asking)
    assert open_meteo.forecast(*HERE).credit == CREDIT
    assert "Weather data by Open-Meteo.com (https://open-meteo.com/)" in CREDIT
    assert "https://creativecommons.org/licenses/by/4.0/" in CREDIT
    past = open_meteo.past_credit
    assert past.startswith(CREDIT)
    assert "contains modified Copernicus Climate Change Service information" in past
    assert "2026; neither the European Commission nor ECMWF is responsible" in past


# -- past hours --------------------------------------------------------------------------------------------


def years_asked(server: HTTPServer) -> list[tuple[str, str]]:
    return [(query["start_date"], query["end_date"]) for _, query in asked(server)]


def test_past_hours(httpserver: HTTPServer, asking: Asking) -> None:
    httpserver.expect_request("/v1/archive").respond_with_handler(archive())
    first, last = date(2023, 12, 30), date(2026, 2, 20)
    cell, series = service(httpserver, asking).hours(*HERE, first, last)
    query = {"hourly": "temperature_2m,precipitation", "models": "era5_seamless"}
    days = {"start_date": "2023-01-01", "end_date": "2023-12-31"}
    assert asked(httpserver)[0] == ("/v1/archive", WHERE | query | days)
    assert years_asked(httpserver) == [
        ("2023-01-01", "2023-12-31"),
        ("2024-01-01", "2024-12-31"),
        ("2025-01-01", "2025-12-31"),
        ("2026-01-01", "2026-02-20"),
    ]
    assert cell == Cell(47.375, 8.5, 431.0)
    assert series.start == datetime(2023, 12, 30, tzinfo=UTC)
    days_wanted = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    expected = [warmth(day, hour) for day in days_wanted for hour in range(24)]
    np.testing.assert_array_equal(series["t_c"], expected)
    np.testing.assert_array_equal(series["precipitation_mm"], np.tile(np.arange(24) / 10, len(days_wanted)))

    httpserver.clear_log()
    _, again = service(httpserver, asking).hours(*HERE, first + timedelta(days=400), last)
    assert years_asked(httpserver) == [("2026-01-01", "2026-02-20")]
    np.testing.assert_array_equal(again["t_c"], series["t_c"][400 * 24 :])


@pytest.mark.parametrize(("today", "whole"), [(10, False), (11, True)])
def test_a_year_settles(httpserver: HTTPServer, asking: Asking, today: int, whole: bool) -> None:
    """Until 10 days after a year's end only the days wanted are asked, and they are not kept."""
    httpserver.expect_request("/v1/archive").respond_with_handler(archive())
    asking.moment = datetime(2026, 1, today, 3, tzinfo=UTC)
    for _ in range(2):
        service(httpserver, asking).hours(*HERE, date(2025, 12, 30), date(2025, 12, 31))
    once = ("2025-01-01" if whole else "2025-12-30", "2025-12-31")
    assert years_asked(httpserver) == [once] * (1 if whole else 2)


def test_a_year_with_a_gap_is_asked_again(httpserver: HTTPServer, asking: Asking) -> None:
    gap = date(2024, 2, 29)
    httpserver.expect_oneshot_request("/v1/archive").respond_with_handler(archive(without=[gap]))
    httpserver.expect_request("/v1/archive").respond_with_handler(archive())
    open_meteo = service(httpserver, asking)
    _, series = open_meteo.hours(*HERE, gap - timedelta(days=1), gap)
    assert np.isnan(series["t_c"]).tolist() == [False] * 24 + [True] * 24
    assert np.isnan(series["precipitation_mm"][24:]).all()
    for _ in range(2):
        assert not np.isnan(open_meteo.hours(*HERE, gap, gap)[1]["t_c"]).any()
    assert len(httpserver.log) == 2


def test_days_that_are_not_there_yet(httpserver: HTTPServer, asking: Asking) -> None:
    yesterday = date(2026, 2, 28)
    httpserver.expect_request("/v1/archive").respond_with_handler(archive(without=[yesterday]))
    _, series = service(httpserver, asking).hours(*HERE, yesterday, yesterday)
    assert len(series) == 24
    assert np.isnan(series["t_c"]).all()


@pytest.mark.parametrize(
    ("day", "n", "found"),
    [(28, 24, "24 hours from 2026-02-28 00:00 on"), (27, 25, "25 hours from 2026-02-27 00:00 on")],
)
def test_other_days_than_asked(httpserver: HTTPServer, asking: Asking, day: int, n: int, found: str) -> None:
    start = datetime(2026, 2, day, tzinfo=UTC)
    serve(httpserver, "archive", hourly(start, temperature_2m=[1.0] * n, precipitation=[0.0] * n))
    with pytest.raises(ServiceError, match=f"{found}; right would be 24 from 2026-02-27"):
        service(httpserver, asking).hours(*HERE, date(2026, 2, 27), date(2026, 2, 27))


def test_days_the_wrong_way_round(httpserver: HTTPServer, asking: Asking) -> None:
    with pytest.raises(ValueError, match="first before last"):
        service(httpserver, asking).hours(*HERE, date(2026, 2, 2), date(2026, 2, 1))
    assert httpserver.log == []
