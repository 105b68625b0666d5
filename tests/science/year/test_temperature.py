"""Hourly temperature against chillR's formulas (tests/oracles/hourly-temperature.toml), and what must hold of any day."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from calendar_core.science.year.chill import chill_portions
from calendar_core.science.year.daylight import day_length_h
from calendar_core.science.year.temperature import hourly
from tests.oracles.tables import facts

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

TABLE = facts("hourly-temperature.toml")
N_DAYS = 6

minima = arrays(np.float64, (2, N_DAYS), elements=st.floats(-30.0, 25.0))
ranges = arrays(np.float64, (2, N_DAYS), elements=st.floats(0.0, 20.0))
temperate = st.floats(-50.0, 50.0)
first_days = st.integers(1, 366)


def hours(low: Floats, spread: Floats, latitude: float, day: int) -> Floats:
    """Return (n_traces, n_days, 24) [degC]."""
    return hourly(low, low + spread, latitude, day + np.arange(N_DAYS)).reshape(2, N_DAYS, 24)


def test_a_spring_day_between_two_others() -> None:
    case = TABLE["linvill"]
    found = hourly([case["t_min_c"]], [case["t_max_c"]], case["latitude"], case["day_of_year"])
    assert found.shape == (1, 72)
    assert found[0, 24:48] == pytest.approx(case["hourly_c"], abs=1e-3)


def test_the_day_length_is_the_one_of_the_formula() -> None:
    for latitude, day, length in TABLE["day_length"]["rows"]:
        assert float(day_length_h(latitude, day)) == pytest.approx(length, abs=1e-4), (latitude, day)


def test_days_at_the_ends_stand_in_for_their_neighbours() -> None:
    alone = hourly([[2.0]], [[12.0]], 50.4, [61])
    between = hourly([[2.0] * 3], [[12.0] * 3], 50.4, [61] * 3)
    assert alone[0] == pytest.approx(between[0, 24:48])


def test_the_last_hours_before_sunrise_pass_the_minimum() -> None:
    # A property of the published denominator: ln(night + 1) / ln(night) of the fall, at sunrise.
    low = hourly([[0.0] * 3], [[10.0] * 3], 50.4, [60, 61, 62])[0, 24:48].min()
    assert -0.3 < low < 0.0


def test_polar_day_and_polar_night_have_their_mean() -> None:
    for day in (172, 355):  # no night and no day at 75 degrees north
        assert hourly([[-4.0, 0.0]], [[2.0, 6.0]], 75.0, [day, day]).tolist() == [[-1.0] * 24 + [3.0] * 24]


def test_nights_near_the_circle_stay_finite() -> None:
    for latitude in np.arange(60.0, 90.0, 0.25):
        year = hourly(np.zeros((1, 365)), np.full((1, 365), 10.0), float(latitude), np.arange(1, 366))
        # The shortest night told apart is 2 h: ln 3 / ln 2 is the most of a fall that can pass.
        assert year.min() > 10.0 * (1 - np.log(3) / np.log(2))
        assert year.max() <= 10.0


@given(minima, ranges, temperate, first_days)
def test_midday_stays_between_the_extremes(low: Floats, spread: Floats, latitude: float, day: int) -> None:
    midday = hours(low, spread, latitude, day)[..., 9:16]
    assert np.all(midday >= low[..., None] - 1e-9)
    assert np.all(midday <= (low + spread)[..., None] + 1e-9)


@given(minima, ranges, temperate, first_days)
def test_no_hour_leaves_the_neighbouring_days_by_much(
    low: Floats, spread: Floats, latitude: float, day: int
) -> None:
    # Nights up to 50 degrees last 7.5 h or more, where ln(night + 1) / ln(night) is 1.063.
    all_day = hours(low, spread, latitude, day)
    for i in range(N_DAYS):
        near = slice(max(i - 1, 0), i + 2)
        least, most = low[:, near].min(axis=1), (low + spread)[:, near].max(axis=1)
        slack = 0.063 * (most - least) + 1e-9
        assert np.all(all_day[:, i] >= (least - slack)[:, None])
        assert np.all(all_day[:, i] <= (most + slack)[:, None])


@given(minima, ranges, temperate, first_days, st.floats(-10.0, 10.0))
def test_a_warmer_week_is_warmer_by_as_much_in_every_hour(
    low: Floats, spread: Floats, latitude: float, day: int, more: float
) -> None:
    assert hours(low + more, spread, latitude, day) == pytest.approx(
        hours(low, spread, latitude, day) + more, abs=1e-9
    )


@given(st.floats(0.0, 45.0), first_days)
def test_a_southern_day_is_the_northern_one_half_a_year_later(latitude: float, day: int) -> None:
    # Day lengths match to a quarter of an hour: an eighth at sunrise, where the sine rises by pi / (8.7 + 4) of
    # the range an hour, besides the 6 % by which the night may have passed the minimum.
    low, high = np.zeros((1, N_DAYS)), np.ones((1, N_DAYS))
    days = day + np.arange(N_DAYS)
    north, south = hourly(low, high, latitude, days), hourly(low, high, -latitude, days + 182.6)
    assert np.abs(north - south).max() < 0.1


def test_a_mirrored_southern_winter_has_the_same_chill() -> None:
    days = np.arange(300, 421)
    mean_c = 8.0 + 6.0 * np.cos(2 * np.pi * (days - 205) / 365.25)
    extremes = (mean_c - 5.0)[None, :], (mean_c + 5.0)[None, :]
    north, south = (
        chill_portions(hourly(*extremes, side * 42.0, days + later)).sum()
        for side, later in ((1, 0), (-1, 182.6))
    )
    assert south == pytest.approx(north, rel=0.01)


@pytest.mark.parametrize(("low", "high"), [(5.0, 4.0), (np.nan, 4.0), (1.0, np.nan)])
def test_crossed_or_missing_extremes_are_named(low: float, high: float) -> None:
    told = re.escape(f"t_min_c {low} and t_max_c {high} at (0, 1)")
    with pytest.raises(ValueError, match=told):
        hourly([[0.0, low]], [[3.0, high]], 40.0, [1, 2])
