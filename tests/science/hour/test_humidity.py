"""Vapour pressure, dew point and wet bulb against FAO-56, PsychroLib and MetPy (tests/oracles/humidity.toml)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.science.hour.humidity import (
    deficit_kpa,
    dew_point_c,
    humidity_percent,
    pressure_kpa,
    saturation_kpa,
    saturation_slope,
    vapour_kpa,
    vapour_of_night_kpa,
    wet_bulb_c,
)
from tests.oracles.tables import facts

TABLE = facts("humidity.toml")

airs = st.floats(-30.0, 50.0)
humidities = st.floats(1.0, 100.0)


def test_saturation_and_its_slope() -> None:
    t_c, saturation, slope = np.array(TABLE["saturation"]["rows"]).T
    assert saturation_kpa(t_c) == pytest.approx(saturation, abs=5.1e-5)
    assert saturation_slope(t_c, saturation_kpa(t_c)) == pytest.approx(slope, abs=5.1e-5)


def test_a_wet_and_a_dry_thermometer() -> None:
    case = TABLE["wet_and_dry"]
    pressure = float(pressure_kpa(case["height_m"]))
    assert pressure == pytest.approx(case["pressure_kpa"], abs=0.05)
    wet = wet_bulb_c(case["dry_c"], case["vapour_kpa"], pressure)
    assert float(wet) == pytest.approx(case["wet_c"], abs=0.05)  # the printed vapour is rounded to 0.01 kPa


def test_air_over_a_lawn_at_night() -> None:
    case = TABLE["night"]
    found = vapour_of_night_kpa(np.array([14.8, 26.6]), case["t_min_c"])
    assert found == pytest.approx([case["vapour_kpa"]] * 2, abs=0.005)
    assert vapour_of_night_kpa(26.6, 14.8, 2.0) == saturation_kpa(12.8)
    assert vapour_of_night_kpa(10.0, 14.8) == saturation_kpa(
        10.0
    )  # an hour below the minimum is not supersaturated


def test_dew_point() -> None:
    for t_c, humidity, magnus, psychrolib, _, _ in TABLE["moist_air"]["rows"]:
        found = float(dew_point_c(vapour_kpa(t_c, humidity)))
        assert found == pytest.approx(magnus, abs=0.05), t_c
        if magnus > 0:  # below it, that library gives the frost point
            assert found == pytest.approx(psychrolib, abs=0.015), t_c


def test_wet_bulb() -> None:
    for t_c, humidity, _, _, psychrolib, metpy in TABLE["moist_air"]["rows"]:
        found = float(wet_bulb_c(t_c, vapour_kpa(t_c, humidity), 101.325))
        reference = psychrolib if psychrolib > 0 else metpy
        assert found == pytest.approx(reference, abs=0.08), t_c


@given(airs, humidities)
def test_there_and_back(t_c: float, humidity: float) -> None:
    vapour = vapour_kpa(t_c, humidity)
    assert float(saturation_kpa(dew_point_c(vapour))) == pytest.approx(float(vapour), rel=1e-9)
    assert float(humidity_percent(t_c, vapour)) == pytest.approx(humidity, rel=1e-9)
    assert float(vapour + deficit_kpa(t_c, vapour)) == pytest.approx(float(saturation_kpa(t_c)), rel=1e-9)


@given(airs, humidities, st.floats(70.0, 105.0))
def test_wet_bulb_lies_between_dew_point_and_air_and_solves_its_equation(
    t_c: float, humidity: float, pressure: float
) -> None:
    vapour = float(vapour_kpa(t_c, humidity))
    wet = float(wet_bulb_c(t_c, vapour, pressure))
    assert float(dew_point_c(vapour)) - 1e-6 <= wet <= t_c + 1e-6
    assert float(saturation_kpa(wet)) - 0.000662 * pressure * (t_c - wet) == pytest.approx(vapour, abs=1e-6)


def test_saturated_air_has_no_deficit_and_dry_air_a_dew_point() -> None:
    assert deficit_kpa(10.0, 2.0) == 0.0
    assert -80.0 < float(dew_point_c(0.0)) < -60.0
