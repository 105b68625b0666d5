"""Bundled normals: the table, the nearest place, the daily year and its weather-like scatter."""

from __future__ import annotations

from calendar import monthrange
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from timezonefinder import TimezoneFinder

from calendar_core.weather.normals import (
    PERSISTENCE,
    RANGE_SPREAD,
    SUMMER_SD_C,
    anomaly_sd_c,
    daily_anomalies,
    daily_year,
    great_circle_km,
    nearest,
    read_normals,
)
from calendar_core.weather.traces import climatology

if TYPE_CHECKING:
    from collections.abc import Callable

    from calendar_core.weather.daily import DailySeries, FloatArray
    from calendar_core.weather.normals import Normals

MONTHS = [monthrange(2012, m)[1] for m in range(1, 13)]


def monthly(year: FloatArray) -> list[float]:
    return [float(part.mean()) for part in np.split(year, np.cumsum(MONTHS)[:-1])]


def test_the_table_holds_the_places_it_should(places: dict[str, Normals]) -> None:
    assert len(places) == 48
    assert {"Nagano", "Seoul", "Lisle", "Clemson", "Seattle", "New York", "Melbourne"} <= set(places)
    for place in places.values():
        assert place.credit
        assert ZoneInfo(place.zone).key == place.zone


def test_zones_are_those_of_the_coordinates(places: dict[str, Normals]) -> None:
    # Against the time zone map of timezonefinder.
    finder = TimezoneFinder()
    found = {name: finder.timezone_at(lng=p.longitude, lat=p.latitude) for name, p in places.items()}
    assert found == {name: p.zone for name, p in places.items()}


@pytest.mark.parametrize(
    ("name", "month", "highest", "lowest"),
    [
        # Printed normals 1991-2020 of the Japan Meteorological Agency (from memory).
        ("Sapporo", 1, -0.4, -6.4),
        ("Sapporo", 8, 26.4, 19.1),
        ("Kyoto", 1, 9.1, 1.5),
        ("Kyoto", 8, 33.7, 24.7),
        ("Osaka", 8, 33.7, 25.8),
        # Station table of the Bureau of Meteorology, Melbourne Regional Office 086071 (from memory).
        ("Melbourne", 1, 25.9, 14.3),
        ("Melbourne", 7, 13.5, 6.0),
    ],
)
def test_rows_agree_with_printed_normals(
    places: dict[str, Normals], name: str, month: int, highest: float, lowest: float
) -> None:
    assert places[name].t_max_c[month - 1] == pytest.approx(highest, abs=0.1)
    assert places[name].t_min_c[month - 1] == pytest.approx(lowest, abs=0.1)


def test_distance_of_two_airports() -> None:
    # Great-circle example of many textbooks: Nashville to Los Angeles 2887.26 km on a sphere of 6372.8 km
    # (from memory); ours has 6371.0088 km.
    km = great_circle_km(36.12, -86.67, 33.94, -118.40)
    assert km == pytest.approx(2887.26 * 6371.0088 / 6372.8, abs=0.01)


@given(st.floats(-90, 90), st.floats(-180, 180), st.floats(-90, 90), st.floats(-180, 180))
def test_distance_is_symmetric_and_at_most_half_way_round(a: float, b: float, c: float, d: float) -> None:
    km = great_circle_km(a, b, c, d)
    assert 0 <= km <= np.pi * 6371.0088 + 1e-6
    assert km == pytest.approx(great_circle_km(c, d, a, b), abs=1e-6)
    assert great_circle_km(a, b, a, b) == pytest.approx(0, abs=1e-6)


def test_nearest_place_across_the_date_line_and_none(places: dict[str, Normals]) -> None:
    assert nearest(list(places.values()), 36.23, 137.97)[0].place == "Nagano"  # Matsumoto
    assert nearest(list(places.values()), -37.56, 143.85)[0].place == "Melbourne"  # Ballarat
    east = replace(places["Tokyo"], latitude=0.0, longitude=179.9)
    place, km = nearest([*places.values(), east], 0.0, -179.9)
    assert place is east
    assert km == pytest.approx(0.2 * np.pi / 180 * 6371.0088)
    with pytest.raises(ValueError, match="at least one"):
        nearest([], 0, 0)


def test_the_daily_year_has_the_monthly_means(places: dict[str, Normals]) -> None:
    # Error of every month of all 48 places: under 0.00001 degC.
    for place in places.values():
        year = daily_year(place)
        np.testing.assert_allclose(monthly(year.t_max_c), place.t_max_c, atol=1e-5)
        np.testing.assert_allclose(monthly(year.t_min_c), place.t_min_c, atol=1e-5)


def test_the_daily_year_is_smooth_and_never_crosses(places: dict[str, Normals]) -> None:
    # A day moves by about a thirtieth of the step between months; twice the largest would be a kink.
    for place in places.values():
        year = daily_year(place)
        steps = np.diff(np.append(year.t_mean_c, year.t_mean_c[0]))
        monthly_step = max(
            abs(a - b) for v in (place.t_max_c, place.t_min_c) for a, b in pairwise((*v, v[0]))
        )
        assert np.abs(steps).max() < 2 * monthly_step / 30
        assert (year.t_max_c > year.t_min_c).all()


def test_the_daily_year_lies_near_the_measured_mean_year(
    seattle: DailySeries, places: dict[str, Normals]
) -> None:
    # From twelve numbers of the same four years: 0.3 degC root mean square of the smoothed daily means.
    apart = daily_year(places["Seattle"]).t_mean_c - climatology(seattle).t_mean_c
    assert np.sqrt((apart**2).mean()) < 0.4


def test_south_of_the_equator_the_year_turns_round(places: dict[str, Normals]) -> None:
    year = daily_year(places["Melbourne"])
    assert int(year.t_mean_c.argmax()) < 60
    assert 180 < int(year.t_mean_c.argmin()) < 220
    sd = anomaly_sd_c(year)
    assert sd[:50].mean() < sd[180:220].mean()


def test_scatter_is_near_what_seattle_shows(seattle: DailySeries, places: dict[str, Normals]) -> None:
    # The residual of the fit over seven regions is 1.3 degC in winter; Seattle has 3.1 and 2.6 degC.
    year = climatology(seattle)
    slot = np.concatenate(
        [np.delete(np.arange(366), 59) if n == 365 else np.arange(366) for n in (366, 365, 365, 365)]
    )
    anomaly = seattle.t_mean_c - year.t_mean_c[slot]
    winter, summer = (slot < 60) | (slot >= 335), (slot >= 152) & (slot < 244)
    sd = anomaly_sd_c(daily_year(places["Seattle"]))
    assert sd[slot[winter]].mean() == pytest.approx(anomaly[winter].std(), abs=0.6)
    assert sd[slot[summer]].mean() == pytest.approx(anomaly[summer].std(), abs=0.6)
    wide = seattle.t_max_c - seattle.t_min_c
    usual = (year.t_max_c - year.t_min_c)[slot]
    assert (wide / usual - 1).std() == pytest.approx(RANGE_SPREAD, abs=0.06)
    assert np.corrcoef(anomaly[:-1], anomaly[1:])[0, 1] == pytest.approx(PERSISTENCE, abs=0.08)


def test_the_tropics_scatter_little_more_than_a_summer(places: dict[str, Normals]) -> None:
    even = replace(places["Tokyo"], t_max_c=(31.0,) * 12, t_min_c=(23.0,) * 12)
    assert anomaly_sd_c(daily_year(even)).max() <= SUMMER_SD_C


def test_anomalies_are_a_first_order_autoregressive_process() -> None:
    # Closed form: mean 0, variance 1, correlation r^k at lag k.
    z = daily_anomalies(200, date(2010, 1, 1), 2000, seed=3)
    assert z.shape == (200, 2000)
    assert z.mean() == pytest.approx(0, abs=0.02)
    assert z.std() == pytest.approx(1, abs=0.02)
    for lag in (1, 2, 5, 10):
        assert (z[:, :-lag] * z[:, lag:]).mean() == pytest.approx(PERSISTENCE**lag, abs=0.02)


@given(st.dates(date(1990, 1, 1), date(2050, 1, 1)), st.integers(0, 2**32), st.integers(0, 700))
def test_a_day_shows_the_same_weather_from_any_start(start: date, seed: int, later: int) -> None:
    whole = daily_anomalies(3, start, 760, seed)
    part = daily_anomalies(3, start + timedelta(days=later), 50, seed)
    np.testing.assert_allclose(part, whole[:, later : later + 50], atol=1e-9)
    other = daily_anomalies(3, start + timedelta(days=later), 50, seed + 1)
    assert np.abs(part - other).max() > 0.01


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda line: line + ",1", "line 2: 32 fields; right would be 31"),
        (lambda line: line.replace("43.06", "95"), "line 2: latitude 95, longitude 141.33; right would be"),
        (lambda line: line.replace("-6.4", "26.4"), "Sapporo: a monthly t_min is above its t_max"),
        (lambda line: line.replace("-6.4", "cold"), "line 2: could not convert string to float: 'cold'"),
    ],
)
def test_a_bad_line_of_the_table_is_named(change: Callable[[str], str], told: str) -> None:
    header = ",".join(
        ["place", "latitude", "longitude", "elevation_m", "zone", "period", "credit"]
        + [f"t_max_{m:02d}" for m in range(1, 13)]
        + [f"t_min_{m:02d}" for m in range(1, 13)]
    )
    line = "Sapporo,43.06,141.33,17,Asia/Tokyo,1991-2020,JMA," + ",".join(["-0.4"] * 12 + ["-6.4"] * 12)
    assert read_normals(f"{header}\n{line}\n")[0].elevation_m == 17
    with pytest.raises(ValueError, match="line 2") as refused:
        read_normals(f"{header}\n{change(line)}\n")
    assert told in str(refused.value)


def test_a_table_without_its_header_is_refused() -> None:
    with pytest.raises(ValueError, match="not the header"):
        read_normals("Sapporo,43.06\n")
