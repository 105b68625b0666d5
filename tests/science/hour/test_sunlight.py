"""Sunlight against refet, pvlib and a year of measurements."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pvlib  # type: ignore[import-untyped]
import pytest
import refet  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.science.hour.humidity import pressure_kpa, saturation_kpa
from calendar_core.science.hour.sun_path import sun_path
from calendar_core.science.hour.sunlight import (
    Light,
    clear_sky,
    daily_light_mol,
    photons_umol,
    split,
    under_cloud,
)
from tests.oracles.tables import facts
from tests.science.greensboro import LATITUDE, LONGITUDE, greensboro

TABLE = facts("sunlight.toml")


def test_a_clear_sky_is_that_of_the_standard() -> None:
    day, noon_utc, latitude, longitude = 180, 12.0, 40.0, 0.0
    vapour, pressure = np.array([0.5, 1.5, 3.0]), np.array([101.3, 90.0, 80.0])
    reference = refet.calcs.rso_hourly(
        1.0, vapour, pressure, day, noon_utc, np.radians(latitude), np.radians(longitude)
    )
    declination = refet.calcs.declination(day, "asce")
    equation_of_time = refet.calcs.seasonal_correction(day)  # the sun's time there, at noon of the clock
    hour_angle = np.pi / 12.0 * float(equation_of_time)
    sine = np.sin(np.radians(latitude)) * np.sin(declination) + np.cos(np.radians(latitude)) * np.cos(
        declination
    ) * np.cos(hour_angle)
    found = clear_sky(np.degrees(np.arcsin(sine)), 1.0, vapour, pressure)
    assert found.total_w_m2 == pytest.approx(reference, rel=1e-6)


@pytest.mark.parametrize(
    ("place", "latitude", "longitude", "height_m", "day", "highest", "mj", "vapour"), TABLE["rows"]
)
def test_clear_days(
    place: str,
    latitude: float,
    longitude: float,
    height_m: float,
    day: str,
    highest: float,
    mj: float,
    vapour: float,
) -> None:
    midnight = np.datetime64(day, "s") - np.timedelta64(int(longitude * 240), "s")
    sun = sun_path(latitude, longitude, midnight + np.arange(0, 86400, 300) * np.timedelta64(1, "s"))
    light = clear_sky(sun.elevation_deg, sun.top_w_m2, vapour, pressure_kpa(height_m)).total_w_m2
    assert float(light.max()) == pytest.approx(highest, rel=0.04), place
    assert float(light.mean()) * 0.0864 == pytest.approx(mj, rel=0.08), place


def test_a_measured_year() -> None:
    year = greensboro()
    sun = sun_path(LATITUDE, LONGITUDE, year.middle)
    clear = clear_sky(
        sun.elevation_deg, sun.top_w_m2, saturation_kpa(year.dew_point_c), year.pressure_kpa
    ).total_w_m2
    up = sun.elevation_deg > 10.0

    def ratio(estimate: np.ndarray, hours: np.ndarray) -> float:
        return float(estimate[hours].sum() / year.sunlight_w_m2[hours].sum())

    cloudless = up & (year.cloud_percent == 0.0)
    assert cloudless.sum() > 600
    assert ratio(clear, cloudless) == pytest.approx(1.035, abs=0.02)  # clean air: the year's had some haze
    # Cloud seen from the ground says little of its thickness: right within a tenth over the year, not by the hour.
    assert ratio(under_cloud(clear, year.cloud_percent), up) == pytest.approx(1.0, abs=0.1)
    found = split(year.sunlight_w_m2, sun.elevation_deg, sun.top_w_m2)
    assert float(found.diffuse_w_m2[up].sum() / year.diffuse_w_m2[up].sum()) == pytest.approx(1.0, abs=0.06)


def test_the_split_is_that_of_pvlib() -> None:
    at = pd.date_range("2024-03-01", "2024-09-01", freq="7h", tz="UTC")
    sun = sun_path(40.0, 0.0, at.tz_localize(None).to_numpy().astype("datetime64[s]"))
    up = sun.elevation_deg > 4.0  # lower, pvlib calls all of it diffuse
    for share in (0.1, 0.22, 0.3, 0.5, 0.7, 0.85):
        total = share * sun.top_w_m2
        reference = pvlib.irradiance.erbs(total, 90.0 - sun.elevation_deg, at.day_of_year.to_numpy())["dhi"]
        found = split(total, sun.elevation_deg, sun.top_w_m2)
        assert found.diffuse_w_m2[up] == pytest.approx(reference[up], abs=2.5)
        assert found.total_w_m2 == pytest.approx(total)


@given(st.floats(0.0, 1200.0), st.floats(-10.0, 90.0))
def test_a_split_loses_nothing(total: float, elevation: float) -> None:
    top = 1367.0 * max(np.sin(np.radians(elevation)), 0.0)
    light = split(np.array([total]), elevation, top)
    assert light.total_w_m2[0] == pytest.approx(total)
    assert 0.0 <= light.diffuse_w_m2[0] <= total + 1e-9


@given(st.floats(0.0, 90.0), st.floats(0.1, 4.0), st.floats(0.1, 2.0), st.floats(70.0, 102.0))
def test_damp_air_and_low_sun_dim_a_clear_sky(
    sun: float, vapour: float, more: float, pressure: float
) -> None:
    dry, damp = (clear_sky(sun, 1000.0, v, pressure) for v in (vapour, vapour + more))
    assert damp.total_w_m2 <= dry.total_w_m2
    higher = clear_sky(min(sun + 10.0, 90.0), 1000.0, vapour, pressure)
    assert dry.direct_w_m2 <= higher.direct_w_m2 + 1e-9
    assert 0.0 < dry.total_w_m2 < 1000.0


def test_the_last_light_is_that_of_a_sun_at_half_a_degree() -> None:
    # ASCE-EWRI 2005 appendix D holds the sine of the sun's elevation at 0.01 or more.
    low, lowest = (clear_sky(np.degrees(np.arcsin(sine)), 10.0, 1.0).total_w_m2 for sine in (0.01, 0.001))
    assert low == lowest
    assert low < clear_sky(np.degrees(np.arcsin(0.0105)), 10.0, 1.0).total_w_m2


def test_haze_takes_from_the_sun_and_gives_to_the_sky() -> None:
    clean, hazy = (clear_sky(45.0, 900.0, 1.5, clearness=c) for c in (1.0, 0.6))
    assert hazy.direct_w_m2 < clean.direct_w_m2
    assert hazy.diffuse_w_m2 > clean.diffuse_w_m2


def test_daily_light() -> None:
    case = TABLE["daily_light"]
    hours = np.repeat(np.array(case["mj"]) / 0.0864, 24)
    assert daily_light_mol(hours) == pytest.approx(case["mol"], abs=0.2)
    assert daily_light_mol(np.stack([hours, hours])).shape == (2, 3)
    # Akitsu and others: 1.9 to 2.2 umol a joule of all sunlight.
    assert 1.9 < float(photons_umol(1.0)) < 2.2


def test_light_is_the_sum_of_its_parts() -> None:
    assert Light(np.array([300.0]), np.array([100.0])).total_w_m2 == 400.0
