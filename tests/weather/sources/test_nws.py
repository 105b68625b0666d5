"""The US National Weather Service's adapter against a real server. Shapes: see `payloads_nws`."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from werkzeug import Response

from calendar_core.weather.hourly import HourlySeries, days_of
from calendar_core.weather.sources.data.nws import Interval, spread, times_of
from calendar_core.weather.sources.nws import CREDIT
from tests.weather.sources.asking import AGENT, asked
from tests.weather.sources.payloads_nws import answer, grid, layer, point, serve, source

if TYPE_CHECKING:
    from pytest_httpserver import HTTPServer

    from calendar_core.weather.daily import FloatArray
    from calendar_core.weather.hourly import Column
    from calendar_core.weather.sources.protocol import Forecast

NAN = float("nan")


def forecast_of(server: HTTPServer, said: Any) -> Forecast:
    serve(server, "/points/30,-85", answer(point()))
    serve(server, "/gridpoints/TAE/58,65", said if isinstance(said, Response) else answer(said))
    return source(server).forecast(30.0, -85.0, 20.0)


def hours_of(server: HTTPServer, **layers: Any) -> HourlySeries:
    (series,) = forecast_of(server, grid(**layers)).members
    assert all(len(values) == len(series) for values in series.values.values())
    return series


def same(found: FloatArray, wanted: list[float]) -> bool:
    return bool(found.tolist() == pytest.approx(wanted, nan_ok=True))


def test_two_requests_with_the_documented_headers_and_no_query(httpserver: HTTPServer) -> None:
    forecast_of(httpserver, grid())
    assert asked(httpserver) == [("/points/30,-85", {}), ("/gridpoints/TAE/58,65", {})]
    for request, _ in httpserver.log:
        assert request.headers["Accept"] == "application/geo+json"
        assert request.headers["User-Agent"] == AGENT
        assert not request.query_string


@pytest.mark.parametrize(
    ("latitude", "longitude", "path"),
    [
        (38.889437, -77.035211, "/points/38.8894,-77.0352"),
        (30.1, -85.00001, "/points/30.1,-85"),
        (0.00001, -0.00001, "/points/0,0"),
        (-14.27, -170.70449, "/points/-14.27,-170.7045"),
    ],
)
def test_coordinates_have_four_decimals_and_no_ending_zeros(
    httpserver: HTTPServer, latitude: float, longitude: float, path: str
) -> None:
    # "The API doesn't support more than four decimal places" (https://weather-gov.github.io/api/general-faqs).
    serve(httpserver, path, answer(point()))
    serve(httpserver, "/gridpoints/TAE/58,65", answer(grid()))
    source(httpserver).forecast(latitude, longitude, None)
    assert asked(httpserver)[0] == (path, {})


def test_the_forecast_says_where_it_is_from(httpserver: HTTPServer) -> None:
    forecast = forecast_of(httpserver, grid())
    assert (forecast.source, forecast.credit) == ("nws", CREDIT)
    assert "National Weather Service" in CREDIT
    assert forecast.issued == datetime(2026, 5, 1, 3, 15, 41, tzinfo=UTC)
    where = (forecast.cell.latitude, forecast.cell.longitude, forecast.cell.elevation_m)
    assert where == pytest.approx((30.01, -85.01, 3.9624))


@pytest.mark.parametrize(
    "geometry", [None, {"type": "Polygon", "coordinates": []}, {"coordinates": [[1, 2]]}]
)
def test_without_corners_the_point_asked_stands_for_the_cell(httpserver: HTTPServer, geometry: Any) -> None:
    said = grid(elevation={"unitCode": "wmoUnit:m", "value": None}) | {"geometry": geometry}
    cell = forecast_of(httpserver, said).cell
    assert (cell.latitude, cell.longitude, cell.elevation_m) == (30.0, -85.0, None)


def test_an_interval_holds_for_all_its_hours(httpserver: HTTPServer) -> None:
    intervals = ("01T00/PT3H", 10), ("01T03/PT1H", -2.5), ("01T04/P1DT6H", 7)
    series = hours_of(httpserver, temperature=layer("wmoUnit:degC", *intervals))
    assert series.start == datetime(2026, 5, 1, tzinfo=UTC)
    # The last hour is the one in which what is a sum or an extreme ends.
    assert same(series["t_c"], [10, 10, 10, -2.5, *[7] * 30, NAN])


def test_intervals_may_begin_in_another_order_and_leave_gaps(httpserver: HTTPServer) -> None:
    intervals = ("01T03/PT1H", 3), ("01T00/PT1H", 1)
    series = hours_of(httpserver, temperature=layer("wmoUnit:degC", *intervals))
    assert same(series["t_c"], [1, NAN, NAN, 3, NAN])


def test_each_layer_is_a_column_in_our_units(httpserver: HTTPServer) -> None:
    one: tuple[tuple[str, float], ...] = (("01T00/PT2H", 36),)
    series = hours_of(
        httpserver,
        temperature=layer("wmoUnit:degC", *one),
        dewpoint=layer("unit:degC", *one),
        relativeHumidity=layer("wmoUnit:percent", *one),
        skyCover=layer("percent", *one),
        windSpeed=layer("wmoUnit:km_h-1", *one),
        windGust=layer("unit:m_s-1", *one),
    )
    # 36 km/h are 10 m/s. A gust is the highest of the hour that ends then.
    wanted: dict[Column, list[float]] = {
        "t_c": [36, 36, NAN],
        "dew_point_c": [36, 36, NAN],
        "humidity_percent": [36, 36, NAN],
        "cloud_percent": [36, 36, NAN],
        "wind_ms": [10, 10, NAN],
        "gust_ms": [NAN, 36, 36],
        "radiation_w_m2": [NAN, NAN, NAN],
        "precipitation_mm": [NAN, NAN, NAN],
    }
    assert [name for name, values in wanted.items() if not same(series[name], values)] == []


def test_an_amount_is_spread_over_its_hours_and_never_repeated(httpserver: HTTPServer) -> None:
    amounts = layer("wmoUnit:mm", ("01T00/PT6H", 12), ("01T06/PT1H", 0.5), ("01T07/PT6H", 0))
    rain = hours_of(httpserver, quantitativePrecipitation=amounts)["precipitation_mm"]
    assert same(rain, [NAN, *[2] * 6, 0.5, *[0] * 6, *[NAN] * 11])
    assert np.nansum(rain) == 12.5


@given(
    st.lists(
        st.tuples(st.integers(1, 30), st.floats(0, 200, allow_subnormal=False) | st.none()),
        min_size=1,
        max_size=12,
    )
)
def test_the_amounts_of_the_hours_add_up_to_those_of_the_intervals(
    parts: list[tuple[int, float | None]],
) -> None:
    ends = np.cumsum([length for length, _ in parts]).tolist()
    intervals = [
        Interval(end - length, end, NAN if amount is None else amount)
        for end, (length, amount) in zip(ends, parts, strict=True)
    ]
    rain = spread(intervals, ends[-1] + 1)
    assert np.nansum(rain) == pytest.approx(sum(amount or 0 for _, amount in parts))
    unknown = 1 + sum(length for length, amount in parts if amount is None)
    assert np.isnan(rain).sum() == unknown


def test_an_amount_of_part_of_an_hour_is_not_that_of_the_hour(httpserver: HTTPServer) -> None:
    amounts = {
        "uom": "wmoUnit:mm",
        "values": [
            {"validTime": "2026-05-01T00:30:00+00:00/PT1H30M", "value": 3},
            {"validTime": "2026-05-01T02:00:00+00:00/PT30M", "value": 1},
            {"validTime": "2026-05-01T02:30:00+00:00/PT30M", "value": 2},
        ],
    }
    rain = hours_of(httpserver, quantitativePrecipitation=amounts)["precipitation_mm"]
    assert same(rain[:5], [NAN, NAN, 2, 3, NAN])


def test_nulls_and_empty_layers_are_unknown(httpserver: HTTPServer) -> None:
    series = hours_of(
        httpserver,
        temperature=layer("wmoUnit:degC", ("01T00/PT1H", 5), ("01T01/PT1H", None), ("01T02/PT1H", 6)),
        windGust={"values": []},
        skyCover={"values": [], "uom": "wmoUnit:percent"},
        dewpoint=None,
        quantitativePrecipitation=layer("wmoUnit:mm", ("01T00/PT1H", 1), ("01T01/PT2H", None)),
        minTemperature=layer("wmoUnit:degC", ("01T00/PT3H", None)),
        relativeHumidity=layer("wmoUnit:percent", ("01T00/P1D", None)),
    )
    assert same(series["t_c"][:4], [5, NAN, 6, NAN])
    assert same(series["precipitation_mm"][:4], [NAN, 1, NAN, NAN])
    for name in ("gust_ms", "cloud_percent", "dew_point_c", "t_low_c", "humidity_percent"):
        assert np.isnan(series[name]).all()


@pytest.mark.parametrize(("coldest", "day"), [(33, date(2026, 5, 2)), (24, date(2026, 5, 1))])
def test_the_lowest_of_a_window_stands_at_its_coldest_hour(
    httpserver: HTTPServer, coldest: int, day: date
) -> None:
    # A night window lasts from 20:00 to 10:00 in New York. Its lowest is that of the morning, unless a warm
    # front came in the night; then it is that of the evening before.
    hourly = [(f"{1 + h // 24:02}T{h % 24:02}/PT1H", abs(h - coldest) / 2 - 1) for h in range(72)]
    series = hours_of(
        httpserver,
        temperature=layer("wmoUnit:degC", *hourly),
        minTemperature=layer("wmoUnit:degC", ("02T00/PT14H", -2.2)),
        maxTemperature=layer("wmoUnit:degC", ("01T12/PT13H", 21)),
    )
    assert np.flatnonzero(~np.isnan(series["t_low_c"])).tolist() == [coldest + 1]
    assert np.flatnonzero(~np.isnan(series["t_high_c"])).tolist() == [13]
    days = days_of(series, ZoneInfo("America/New_York")).series
    assert [days.start + timedelta(days=int(n)) for n in np.flatnonzero(days.t_min_c == -2.2)] == [day]


def test_the_lowest_of_a_window_without_hours_stands_at_its_end(httpserver: HTTPServer) -> None:
    series = hours_of(
        httpserver,
        temperature=layer("wmoUnit:degC", ("01T21/PT3H", 9)),
        maxTemperature=layer("wmoUnit:degC", ("01T06/PT13H", 21)),
    )
    assert series.start == datetime(2026, 5, 1, 6, tzinfo=UTC)
    assert np.flatnonzero(~np.isnan(series["t_high_c"])).tolist() == [13]
    assert np.flatnonzero(~np.isnan(series["t_c"])).tolist() == [15, 16, 17]


@given(st.integers(0, 99), st.integers(0, 99), st.integers(0, 59), st.integers(0, 59))
def test_durations_are_read_as_pandas_reads_them(days: int, hours: int, minutes: int, seconds: int) -> None:
    # Source: pandas.Timedelta, which reads ISO 8601 but for weeks.
    text = f"P{days}DT{hours}H{minutes}M{seconds}S"
    wanted = pd.Timedelta(text).total_seconds() / 3600
    if wanted:
        begin_h, end_h = times_of(f"2026-05-01T00:00:00+00:00/{text}")
        assert end_h - begin_h == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("text", "wanted_h"),
    [("P1W", 168), ("P2D", 48), ("PT90M", 1.5), ("P1W1DT1H", 193), ("PT3600S", 1), ("P6DT4H", 148)],
)
def test_the_parts_of_a_duration_may_be_left_out(text: str, wanted_h: float) -> None:
    begin_h, end_h = times_of(f"2026-05-01T02:00:00+02:00/{text}")
    assert begin_h == datetime(2026, 5, 1, tzinfo=UTC).timestamp() / 3600
    assert end_h - begin_h == wanted_h
