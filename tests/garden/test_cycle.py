"""Cycles: where they begin, and which year they are named by."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.cycle import cycle_days, cycle_of, cycle_start
from calendar_core.garden.model import MonthDay
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.weather.normals import daily_year, read_normals
from tests.planning.made_up import garden_of, wave

NORTHERN_MONTHS = (9, 10, 11, 12, 1, 2)
SOUTHERN_MONTHS = (3, 4, 5, 6, 7, 8)
PLACES = {p.place: p for p in read_normals((folder("config") / "normals.csv").read_text(encoding="utf-8"))}

starts = st.tuples(st.booleans(), st.integers(0, 5), st.integers(1, 28)).map(
    lambda t: (MonthDay((SOUTHERN_MONTHS if t[0] else NORTHERN_MONTHS)[t[1]], t[2]), t[0])
)
years = st.integers(1990, 2060)


def mean_year(
    mean_c: float, swing_c: float, *, south: bool = False
) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """A wave over the 366 slots of a leap year."""
    return wave(date(2000, 1, 1), 366, mean_c=mean_c, swing_c=swing_c, south=south)


def away(found: MonthDay, month: int, day: int) -> int:
    """Days from a month and day, the short way round the year."""
    days = (date(2001, found.month, found.day) - date(2001, month, day)).days
    return (days + 182) % 365 - 182


@settings(max_examples=50, deadline=None)
@given(starts, years)
def test_a_cycle_holds_the_spring_it_is_named_by(start: tuple[MonthDay, bool], year: int) -> None:
    begin, south = start
    equinox = date(year, 9, 22) if south else date(year, 3, 20)
    assert cycle_of(equinox, begin, south=south) == year


@settings(max_examples=50, deadline=None)
@given(starts, years)
def test_a_cycle_begins_on_its_day_and_lasts_a_year(start: tuple[MonthDay, bool], year: int) -> None:
    begin, south = start
    first, again = date(year, begin.month, begin.day), date(year + 1, begin.month, begin.day)
    cycle = cycle_of(first, begin, south=south)
    assert cycle_of(first - timedelta(days=1), begin, south=south) == cycle - 1
    assert cycle_of(again - timedelta(days=1), begin, south=south) == cycle
    assert cycle_of(again, begin, south=south) == cycle + 1


def test_leaf_fall_in_january_begins_the_cycle_of_that_year() -> None:
    begin = MonthDay(1, 4)
    assert cycle_of(date(2016, 1, 3), begin, south=False) == 2015
    assert cycle_of(date(2016, 1, 4), begin, south=False) == 2016
    assert cycle_of(date(2016, 2, 29), begin, south=False) == 2016


def test_the_coldest_days_of_a_wave_lie_around_its_trough() -> None:
    # The trough is 20 January; of 30 days around it the first is 5 January.
    _, coldest = cycle_days(mean_year(10, 10), 45.0)
    assert abs(away(coldest, 1, 5)) <= 1


def test_leaf_fall_of_a_wave_by_hand() -> None:
    # 10 - 10 cos(x) = 7.3 at x = 74.3 degrees, 75.4 days before 20 January: 5 November.
    leaf_fall, _ = cycle_days(mean_year(10, 10), 45.0)
    assert abs(away(leaf_fall, 11, 5)) <= 1


def test_leaf_fall_of_a_mild_winter_comes_in_january() -> None:
    # 15 - 8 cos(x) = 7.3 at x = 15.7 degrees, 15.9 days before 20 January: 4 January.
    leaf_fall, _ = cycle_days(mean_year(15, 8), 35.0)
    assert leaf_fall.month == 1
    assert abs(away(leaf_fall, 1, 4)) <= 2


def test_the_south_runs_half_a_year_later() -> None:
    north, south = cycle_days(mean_year(10, 10), 45.0), cycle_days(mean_year(10, 10, south=True), -45.0)
    for of_north, of_south in zip(north, south, strict=True):
        later = date(2001, of_north.month, of_north.day) + timedelta(days=183)
        assert abs(away(of_south, later.month, later.day)) <= 1


@pytest.mark.parametrize("latitude", [0.0, 4.9, -4.9])
def test_near_the_equator_every_cycle_is_a_calendar_year(latitude: float) -> None:
    # Trough and leaf fall would be there to find: it is the latitude that tells.
    assert cycle_days(mean_year(10, 10), latitude) == (MonthDay(1, 1), MonthDay(1, 1))


@pytest.mark.parametrize(("mean_c", "swing_c"), [(20.0, 5.0), (-2.0, 8.0)])
def test_where_no_leaves_fall_both_begin_with_the_coldest_days(mean_c: float, swing_c: float) -> None:
    """A warm place never falls to the leaf-fall temperature, a polar one never rises above it."""
    leaf_fall, coldest = cycle_days(mean_year(mean_c, swing_c), 60.0)
    assert leaf_fall == coldest
    assert coldest.month == 1


def test_no_cycle_begins_on_29_february() -> None:
    trough_late = np.roll(mean_year(10, 10), 55)  # the 30 coldest days begin about 29 February
    starts_ = {cycle_days(np.roll(trough_late, shift), 45.0)[1] for shift in range(-3, 4)}
    assert MonthDay(2, 28) in starts_
    assert MonthDay(2, 29) not in starts_


def test_calibration_leaf_fall_of_maples_in_japan() -> None:
    """Calibration, not a check: the temperature was taken from these and three more stations.

    Source: Japan Meteorological Agency, normals 1991-2020 of maple leaf fall (80 %), partly derived. Their
    temperatures differ by 0.8 degC (sd), which is about a week in December; Osaka misses by 16 days.
    """
    published = {"Sapporo": (11, 5), "Hikone": (12, 11), "Tottori": (12, 11), "Osaka": (12, 13)}
    missed = {}
    for place, (month, day) in published.items():
        normals = PLACES[place]
        leaf_fall, _ = cycle_days(daily_year(normals).t_mean_c, normals.latitude)
        missed[place] = away(leaf_fall, month, day)
    assert abs(np.mean(list(missed.values()))) <= 7, missed
    assert np.std(list(missed.values())) <= 7, missed


def test_deciduous_trees_go_by_leaf_fall_and_others_by_the_coldest_days() -> None:
    garden = garden_of(45.0, mean_year(10, 10))
    assert cycle_start(garden, deciduous=True) == garden.leaf_fall
    assert cycle_start(garden, deciduous=False) == garden.coldest
    assert garden.leaf_fall != garden.coldest
