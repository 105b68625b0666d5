"""Radiation and evaporation against the examples of FAO-56, and the libraries pyet and refet."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import refet  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.science.hour import net_radiation as radiation
from calendar_core.science.hour.evaporation import daily_mm, hourly_mm
from calendar_core.science.hour.humidity import pressure_kpa, saturation_kpa, vapour_kpa
from calendar_core.science.hour.sun_path import sun_path
from tests.oracles.sunlight_of_days import from_range, from_sunshine
from tests.oracles.tables import facts, rows

TABLE = facts("evaporation.toml")
PYET = np.array([[float(v) for v in list(row.values())[1:]] for row in rows("evaporation-pyet.csv")]).T
PYET_DAYS = [np.datetime64(row["date"]) for row in rows("evaporation-pyet.csv")]


def test_sunlight_above_the_air() -> None:
    case = TABLE["top_of_air"]
    at = case["latitude"], case["day_of_year"]
    assert float(radiation.top_of_air_day(*at)) == pytest.approx(case["top_mj"], abs=0.05)
    assert (
        pytest.approx(0.0864) == 24 * radiation.MJ_PER_W_HOUR
    )  # FAO-56 table 1.3: 1 W/m2 is 0.0864 MJ/m2 a day
    day_h = 24.0 / np.pi * float(radiation.sunset_hour_angle(*at))
    assert day_h == pytest.approx(case["day_h"], abs=0.05)


@pytest.mark.parametrize(
    ("latitude", "day"),
    [(35.0, "2024-06-21"), (52.5, "2024-12-21"), (-37.8, "2024-12-21"), (0.0, "2024-03-20")],
)
def test_the_sun_s_path_gives_the_same_by_the_hour(latitude: float, day: str) -> None:
    minutes = np.datetime64(day, "s") + np.arange(0, 86400, 300) * np.timedelta64(1, "s")
    by_path = float(sun_path(latitude, 0.0, minutes).top_w_m2.mean()) * 0.0864
    day_of_year = int((np.datetime64(day) - np.datetime64("2024-01-01")).astype(int)) + 1
    assert float(radiation.top_of_air_day(latitude, day_of_year)) == pytest.approx(by_path, rel=0.006)


def test_polar_days_and_nights() -> None:
    assert radiation.sunset_hour_angle(75.0, np.array([172, 355])) == pytest.approx([np.pi, 0.0])
    assert radiation.top_of_air_day(75.0, 355) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("case", TABLE["day"], ids=lambda case: case["name"])
def test_printed_days(case: dict[str, Any]) -> None:
    low, high, at = case["t_min_c"], case["t_max_c"], (case["latitude"], case["day_of_year"])
    top = float(radiation.top_of_air_day(*at))
    assert top == pytest.approx(case["top_mj"], abs=0.02)
    vapour = case.get("vapour_kpa", float(saturation_kpa(low)))
    if "sunshine_h" in case:
        day_h = 24.0 / np.pi * float(radiation.sunset_hour_angle(*at))
        sunlight = from_sunshine(case["sunshine_h"], day_h, top)
    else:
        sunlight = from_range(low, high, top)
    net = radiation.net_day(low, high, vapour, sunlight, radiation.clear_sky(top, case["height_m"]))
    assert float(net) == pytest.approx(case["net_mj"], abs=0.015)
    pressure = pressure_kpa(case["height_m"])
    found = daily_mm(low, high, vapour, case["wind_2m_ms"], net, pressure, case["ground_mj"])
    assert float(found) == pytest.approx(case["et_mm"], abs=0.003)


@pytest.mark.parametrize("case", TABLE["hour"], ids=lambda case: case["name"])
def test_printed_hours(case: dict[str, Any]) -> None:
    vapour = vapour_kpa(case["t_c"], case["humidity_percent"])
    net = radiation.net_hour(case["t_c"], vapour, case["sunlight_mj"], case["clear_share"])
    ground = radiation.ground_heat_hour(net, day=case["day"])
    assert float(net) == pytest.approx(case["net_mj"], abs=6e-4)
    assert float(ground) == pytest.approx(case["ground_mj"], abs=6e-4)
    pressure = pressure_kpa(case["height_m"])
    found = hourly_mm(case["t_c"], vapour, case["wind_2m_ms"], net, pressure, ground)
    assert float(found) == pytest.approx(case["et_mm"], abs=6e-4)


def test_how_clear_a_sky_was_stays_known_through_the_night() -> None:
    sun = np.array([-10.0, 10.0, 30.0, 40.0, 10.0, -10.0, 30.0])
    clear = np.array([0.0, 0.2, 2.0, 3.0, 0.2, 0.0, 2.0])
    seen = np.stack([0.5 * clear, np.array([0.0, 0.2, 2.0, 1.5, 0.2, 0.0, 1.0])])
    found = radiation.clear_share_hour(seen, clear, sun)
    assert found.tolist() == [[0.5] * 7, [1.0, 1.0, 1.0, 0.5, 0.5, 0.5, 0.5]]
    assert radiation.clear_share_hour(clear[:2], clear[:2], sun[:2]).tolist() == [1.0, 1.0]  # polar winter


def test_days_of_a_real_year_as_pyet_has_them() -> None:
    low, high, vapour, wind, sunlight, reference = PYET
    day_of_year = np.array([(day - np.datetime64("1990-01-01")).astype(int) + 1 for day in PYET_DAYS])
    clear = radiation.clear_sky(radiation.top_of_air_day(36.1, day_of_year), 273.0)
    net = radiation.net_day(low, high, vapour, sunlight, clear)
    found = daily_mm(low, high, vapour, wind, net, pressure_kpa(273.0))
    assert found == pytest.approx(reference, abs=0.02)  # pyet's heat of vaporization falls with warmth


@given(
    st.floats(-5.0, 25.0),
    st.floats(2.0, 20.0),
    st.floats(30.0, 100.0),
    st.floats(0.5, 8.0),
    st.floats(0.2, 1.2),
    st.floats(-55.0, 55.0),
    st.integers(1, 365),
    st.floats(0.0, 2000.0),
)
def test_any_day_as_refet_has_it(
    low: float,
    spread: float,
    humidity: float,
    wind: float,
    clear_share: float,
    latitude: float,
    day_of_year: int,
    height_m: float,
) -> None:
    high, vapour = low + spread, float(vapour_kpa(low, humidity))
    clear = radiation.clear_sky(radiation.top_of_air_day(latitude, day_of_year), height_m)
    sunlight = clear_share * float(clear)
    reference = refet.Daily(
        tmin=low, tmax=high, ea=vapour, rs=sunlight, uz=wind, zw=2.0, elev=height_m, lat=latitude,
        doy=day_of_year, method="asce", rso_type="simple",
    ).eto()  # fmt: skip
    net = radiation.net_day(low, high, vapour, sunlight, clear)
    found = daily_mm(low, high, vapour, wind, net, pressure_kpa(height_m))
    assert float(found) == pytest.approx(max(float(reference[0]), 0.0), abs=0.03)


@given(st.floats(5.0, 45.0), st.floats(5.0, 95.0), st.floats(0.0, 6.0), st.floats(0.0, 3.0))
def test_sun_and_dry_air_dry(t_c: float, humidity: float, wind: float, net: float) -> None:
    vapour = vapour_kpa(t_c, humidity)
    here = hourly_mm(t_c, vapour, wind, net)
    assert here >= 0.0
    assert hourly_mm(t_c, vapour, wind, net + 0.1) > here
    assert hourly_mm(t_c, 0.9 * vapour, wind, net) >= here


def test_dew_is_no_evaporation() -> None:
    assert hourly_mm(5.0, float(saturation_kpa(5.0)), 1.0, -0.2) == 0.0
    assert daily_mm(0.0, 2.0, 0.65, 1.0, -3.0) == 0.0
