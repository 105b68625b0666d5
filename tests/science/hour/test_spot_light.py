"""What reaches a spot: geometry, and what must hold of any spot."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.science.hour.spot_light import at_spot, sky_view, sunny_by_clock, sunny_by_horizon
from calendar_core.science.hour.sunlight import Light

NOON = Light(np.array([600.0, 0.0]), np.array([200.0, 100.0]))
AROUND = np.arange(0.0, 360.0, 90.0)


@given(st.floats(0.0, 24.0), st.floats(0.0, 24.0))
def test_the_hours_of_a_day_add_up(one: float, other: float) -> None:
    sun_from, sun_to = sorted((one, other))
    shares = sunny_by_clock(np.arange(1.0, 25.0), sun_from, sun_to)
    assert float(shares.sum()) == pytest.approx(sun_to - sun_from)
    assert np.all((shares >= 0.0) & (shares <= 1.0))


@given(st.floats(-20.0, 90.0), st.floats(0.0, 360.0), st.floats(0.0, 80.0))
def test_an_even_horizon_is_its_height(elevation: float, azimuth: float, height: float) -> None:
    assert sunny_by_horizon(elevation, azimuth, AROUND, np.full(4, height)) == (elevation > height)


def test_the_profile_closes_through_north() -> None:
    profile = np.array([10.0, 350.0]), np.array([20.0, 40.0])
    assert sunny_by_horizon(np.array([31.0, 29.0]), 0.0, *profile).tolist() == [True, False]


def test_below_the_horizon_is_no_sun_even_on_a_hill() -> None:
    assert not sunny_by_horizon(-1.0, 180.0, AROUND, np.full(4, -5.0))


@given(st.floats(0.0, 90.0))
def test_the_sky_over_an_even_horizon(height: float) -> None:
    # Monteith & Unsworth: an even sky above elevation h sends cos^2 h of all it could.
    assert sky_view(AROUND, np.full(4, height)) == pytest.approx(np.cos(np.radians(height)) ** 2)


def test_a_wall_takes_half_the_sky() -> None:
    wall = np.array([0.0, 0.001, 179.999, 180.0]), np.array([0.0, 90.0, 90.0, 0.0])
    assert sky_view(*wall) == pytest.approx(0.5, abs=0.01)


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(0.0, 100.0))
def test_nothing_is_added(sunny: float, sky: float, cloth: float) -> None:
    found = at_spot(NOON, sunny, sky, cloth)
    assert np.all(found.total_w_m2 <= NOON.total_w_m2 + 1e-9)
    assert found.total_w_m2 == pytest.approx(
        (1.0 - cloth / 100.0) * at_spot(NOON, sunny, sky).total_w_m2, abs=1e-9
    )


def test_the_open_place_gets_all_and_a_shaded_one_the_sky() -> None:
    assert at_spot(NOON, 1.0).total_w_m2.tolist() == [800.0, 100.0]
    assert at_spot(NOON, 0.0).total_w_m2.tolist() == [200.0, 100.0]
    assert at_spot(NOON, np.array([[0.0], [0.5], [1.0]])).total_w_m2.shape == (3, 2)
