"""The daily axis, its turning points, and the sums over it."""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.cycle import is_south
from calendar_core.planning.seasons.axis import Axis, axis_for
from tests.planning.made_up import air_of, wave, wave_air

if TYPE_CHECKING:
    from calendar_core.planning.seasons.air import Air

# Solstices and equinoxes of 2015 and 2016 in UTC (US Naval Observatory, Earth's seasons), within a day or so.
SEASONS = {
    "midwinter": (date(2014, 12, 21), date(2015, 6, 21)),
    "spring_equinox": (date(2015, 3, 20), date(2015, 9, 23)),
    "midsummer": (date(2015, 6, 21), date(2015, 12, 22)),
    "autumn_equinox": (date(2015, 9, 23), date(2016, 3, 20)),
}


@pytest.mark.parametrize("turn", SEASONS)
@pytest.mark.parametrize("latitude", [47.5, -37.8])
def test_turning_points_of_a_cycle_are_those_of_the_sun(turn: str, latitude: float) -> None:
    axis = axis_for(latitude, (2015,))
    found = axis.start + timedelta(days=getattr(axis, turn)(2015))
    assert abs((found - SEASONS[turn][latitude < 0]).days) <= 2


def test_chill_counts_from_november_and_in_the_south_from_may() -> None:
    """Source: the stage model's chill sum begins on 1 November, half a year later in the south."""
    north, south = axis_for(45.0, (2015,)), axis_for(-45.0, (2015,))
    assert north.start + timedelta(days=north.chill_start(2015)) == date(2014, 11, 1)
    assert south.start + timedelta(days=south.chill_start(2015)) == date(2015, 5, 1)


@pytest.mark.parametrize(
    ("latitude", "south"),
    [(0.2, False), (0.0, False), (-0.2, False), (-4.9, False), (-5.0, True), (-35.0, True)],
)
def test_the_belt_of_the_equator_counts_as_north(latitude: float, south: bool) -> None:
    """Its cycles are calendar years, so its stages must begin in one too."""
    assert is_south(latitude) == south
    assert axis_for(latitude, (2015,)).south == south


@given(st.floats(-70, 70), st.integers(1995, 2050), st.integers(0, 2))
@settings(max_examples=50, deadline=None)
def test_an_axis_holds_its_cycles_whole(latitude: float, first: int, more: int) -> None:
    axis = axis_for(latitude, tuple(range(first, first + more + 1)))
    assert 0 <= axis.chill_start(first) < axis.midwinter(first) < axis.spring_equinox(first)
    assert axis.midsummer(first - 1) >= 0  # the autumn before is there to tell the leaf fall it begins with
    assert axis.winter_end(first + more) <= axis.n_days


@given(st.integers(-400, 800))
@settings(max_examples=50, deadline=None)
def test_labels_and_days(days: int) -> None:
    """The whole number is the end of a day: what happens within day i has a label in (i - 1, i]."""
    axis = axis_for(45.0, (2015,))
    day = axis.start + timedelta(days=days)
    assert axis.index(day) == days
    assert axis.day(float(days)) == axis.day(days - 0.5) == day
    assert axis.day(days + 0.01) == day + timedelta(days=1)


def test_day_length_runs_on_through_leap_years() -> None:
    # No day is longer than at the solstice, and a year later it is the same within two minutes.
    axis = axis_for(47.5, (2015, 2016))
    longest = axis.start + timedelta(days=int(axis.day_length_h[:365].argmax()))
    assert abs((longest - date(2014, 6, 21)).days) <= 3
    assert np.abs(axis.day_length_h[365:-1] - axis.day_length_h[: axis.n_days - 366]).max() < 0.08


@pytest.mark.parametrize(
    ("month_day", "north", "south"),
    [
        ("04-15", date(2015, 4, 15), date(2015, 10, 14)),
        ("12-01", date(2014, 12, 1), date(2015, 6, 1)),
        ("02-29", date(2015, 2, 28), date(2015, 8, 29)),
        ("05-31", date(2015, 5, 31), date(2015, 11, 29)),
    ],
)
def test_a_calendar_day_is_read_half_a_year_later_in_the_south(
    month_day: str, north: date, south: date
) -> None:
    for latitude, expected in ((45.0, north), (-45.0, south)):
        axis = axis_for(latitude, (2015,))
        assert axis.start + timedelta(days=axis.calendar(month_day, 2015)) == expected


def softened_by_hand(
    mean_c: list[float], day_length_h: list[float], chill_from: int, heat_from: int
) -> float:
    """Heat at the last day, summed day by day.

    Source: the stage model: heat above 4 degC weighted by a gate of day length at 12.40 h (width 0.6 h), divided
    by 1 + exp(-chill / 30 d), chill falling through 7 degC (width 1.5).
    """
    heat = chill = 0.0
    for day, (mean, light) in enumerate(zip(mean_c, day_length_h, strict=True)):
        if day >= heat_from:
            heat += max(0.0, mean - 4.0) / (1.0 + math.exp(-(light - 12.40) / 0.6))
        if day >= chill_from:
            chill += 1.0 / (1.0 + math.exp((mean - 7.0) / 1.5))
    return heat / (1.0 + math.exp(-chill / 30.0))


@pytest.mark.parametrize("latitude", [45.0, -45.0])
def test_heat_is_summed_from_midwinter_and_softened_by_chill(latitude: float) -> None:
    air = wave_air(latitude)
    axis = air.axis
    until = axis.midwinter(2015) + 150
    by_hand = softened_by_hand(
        list(air.mean_c()[0, : until + 1]),
        list(axis.day_length_h[: until + 1]),
        axis.chill_start(2015),
        axis.midwinter(2015),
    )
    assert air.heat(2015, ())[0, until] == pytest.approx(by_hand)
    assert air.heat(2015, ())[0, axis.midwinter(2015) - 1] == 0.0


def test_degree_days_of_constant_air() -> None:
    air = air_of(axis_for(45.0, (2015,)), 15.0)
    assert air.degree_day_sum(5.0)[0, 9] == pytest.approx(100.0)
    assert air.degree_day_sum(20.0)[0, -1] == 0.0


def test_sums_go_by_where_the_tree_stands() -> None:
    air = wave_air(45.0, swing_c=15.0)
    open_air, heated = air.mean_c(), air.mean_c(((0, "heated"),))
    assert heated.min() >= 12.0 > open_air.min()
    assert air.chill_sum(2015, ((0, "heated"),))[0, -1] < 15 < air.chill_sum(2015, ())[0, -1]
    assert air.heat(2015, ())[0, -1] != air.heat(2015, ((0, "heated"),))[0, -1]
    assert (air.degree_day_sum(5.0) == np.cumsum(np.maximum(open_air - 5.0, 0.0), axis=1)).all()


@pytest.mark.parametrize("latitude", [45.0, -45.0])
def test_the_warmest_and_coldest_days_of_a_wave(latitude: float) -> None:
    # Trough on 20 January, half a year later in the south; crest half a year from it.
    air = wave_air(latitude)
    trough = date(2015, 7, 22) if latitude < 0 else date(2015, 1, 20)
    crest = trough + timedelta(days=183)
    assert abs((air.axis.day(air.coldest(2015)) - trough).days) <= 2
    assert abs((air.axis.day(air.warmest(2015)) - crest).days) <= 2


def frosty(*days: date, latitude: float = 45.0) -> Air:
    """Air of 15 degC without a night under 10 but for a frost on each of the days, one trace a day."""
    axis = axis_for(latitude, (2015,))
    air = air_of(axis, np.full((len(days), axis.n_days), 15.0))
    for trace, day in enumerate(days):
        if 0 <= axis.index(day) < axis.n_days:
            air.t_min_c[trace, axis.index(day)] = -0.1
    return air


def test_the_first_frost_of_autumn_lies_between_midsummer_and_the_year_s_end() -> None:
    never = date(2030, 1, 1)
    days = (date(2015, 10, 9), date(2015, 6, 20), date(2016, 1, 1), never)
    air = frosty(*days)
    assert air.first_frost(2015).tolist() == [air.axis.index(days[0]), math.inf, math.inf, math.inf]


def test_in_the_south_the_first_frost_comes_before_july() -> None:
    days = (date(2016, 5, 3), date(2016, 7, 1))
    air = frosty(*days, latitude=-45.0)
    assert air.first_frost(2015).tolist() == [air.axis.index(days[0]), math.inf]


def test_frost_is_a_night_at_the_line_itself() -> None:
    axis = axis_for(45.0, (2015,))
    air = air_of(axis, wave(axis.start, axis.n_days, swing_c=0.0))
    at = axis.index(date(2015, 11, 1))
    air.t_min_c[0, at] = air.frost_c
    assert air.first_frost(2015)[0] == at


def test_a_polar_axis_has_its_night_and_its_endless_day() -> None:
    axis = axis_for(69.6, (2015,))
    light = dict(enumerate(axis.day_length_h))
    assert light[axis.index(date(2014, 12, 21))] == 0.0
    assert light[axis.index(date(2015, 6, 21))] == 24.0


def test_an_axis_is_a_value() -> None:
    assert axis_for(45.0, (2015, 2016)) == Axis(date(2014, 3, 1), 1096, 45.0)
