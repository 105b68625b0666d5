"""The phases of a tree's year in Nagano: what comes next, what lies in season, wire by warmth, heat while it grows."""

from __future__ import annotations

from datetime import date
from functools import cache
from typing import TYPE_CHECKING, get_args

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.cycle import YEAR_DAYS
from calendar_core.knowledge.forms.aftercare import PHASES, InSeason, YearPhase
from calendar_core.planning.seasons.phases import Phases, upcoming
from tests.planning.made_up import knowledge
from tests.planning.watched import maple, phases_of, warmer

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

TODAY = date(2015, 5, 10)
GROWING = InSeason(opens="growth", closes="rest")
FIG = "ficus-microcarpa"


@cache
def phases(species: str = "acer-palmatum", by_c: float = 0.0, today: date = TODAY) -> Phases:
    return phases_of(warmer(maple(species), by_c), today)


def day(found: Floats, of: Phases | None = None) -> date:
    return (of or phases()).stages.axis.day(float(np.median(found)))


def at(on: date, of: Phases | None = None) -> float:
    return float((of or phases()).stages.axis.index(on))


# What comes next

moments = st.lists(st.floats(0, 400), min_size=1, max_size=4).map(
    lambda gaps: [np.array([float(sum(gaps[: n + 1]) + n * 300)]) for n in range(len(gaps))]
)


@given(moments, st.floats(-2000, 2000))
def test_the_next_moment_is_not_before_and_none_lies_between(known: list[Floats], since: float) -> None:
    (found,) = upcoming(known, since).tolist()
    assert found >= since
    assert not [one for one in known if since <= float(one[0]) < found]
    if since <= float(known[-1][0]):
        assert np.isfinite(found)
    if since < float(known[0][0]):
        assert found - since <= YEAR_DAYS or found == float(known[0][0])
        years = (float(known[0][0]) - found) / YEAR_DAYS
        assert years == pytest.approx(round(years), abs=1e-6)


def test_after_the_last_and_without_any_there_is_none() -> None:
    assert np.isinf(upcoming([np.array([10.0])], 11.0)).all()
    assert np.isinf(upcoming([], 0.0)).all()


def test_a_moment_that_never_comes_is_not_taken_for_one_of_an_earlier_year() -> None:
    assert upcoming([np.array([np.inf]), np.array([500.0])], -900.0).tolist() == [500.0]


# Phases of species


@pytest.mark.parametrize("species", list(knowledge().profiles))
def test_every_species_has_a_growth_and_a_stop_to_count_from(species: str) -> None:
    stages = knowledge().profiles[species].stages
    for phase in get_args(YearPhase):
        assert any(name in stages for name in PHASES[phase]), phase


def test_phases_follow_each_other_in_a_maples_year() -> None:
    order = [day(phases().begins(phase)[0]) for phase in ("growth", "hard", "stop", "rest")]
    assert order == sorted(order)
    assert order[0].month in (4, 5)
    assert order[-1].month in (11, 12)


# Season


@settings(max_examples=30)
@given(st.dates(date(2011, 1, 1), date(2016, 7, 1)))
def test_what_is_moved_into_season_lies_in_it_and_never_earlier(on: date) -> None:
    labels = np.array([at(on)])
    moved = phases().in_season(labels, GROWING)
    assert (moved >= labels).all()
    assert (moved - labels).max() <= YEAR_DAYS
    assert (phases().in_season(moved, GROWING) == moved).all()
    assert 3 <= day(moved).month <= 12


def test_a_look_in_summer_waits_for_nothing_and_one_in_winter_for_growth() -> None:
    assert day(phases().in_season(np.array([at(date(2015, 7, 1))]), GROWING)) == date(2015, 7, 1)
    spring = day(phases().begins("growth")[1])
    assert day(phases().in_season(np.array([at(date(2015, 12, 25))]), GROWING)) == spring


@pytest.mark.parametrize("on", [date(2012, 7, 1), date(2014, 8, 1)])
def test_a_summer_before_the_first_cycle_was_in_season_too(on: date) -> None:
    assert day(phases().in_season(np.array([at(on)]), GROWING)) == on


def test_a_tropical_tree_has_no_season() -> None:
    fig = phases(FIG)
    assert day(fig.in_season(np.array([at(date(2015, 12, 25), fig)]), GROWING), fig) == date(2015, 12, 25)


# Ranges


def test_what_comes_in_less_than_half_of_the_years_has_no_range() -> None:
    assert phases().range_of(np.array([5.0, np.inf])) is None
    found = phases().range_of(np.array([5.0, 9.0, np.inf]))
    assert found is not None
    start = phases().stages.axis.day(0.0).toordinal()
    assert [one.toordinal() - start for one in (found.early, found.late)] == [5, 9]


# Wire


@pytest.mark.parametrize("on", [date(2015, 5, 1), date(2015, 6, 20), date(2015, 8, 20)])
def test_wire_bites_sooner_in_a_warm_season_than_in_a_cold_one(on: date) -> None:
    cold, usual, warm = (day(phases(by_c=by_c).wire_bites(at(on))) for by_c in (-4.0, 0.0, 4.0))
    assert warm < usual < cold


def test_wire_bites_by_the_weeks_of_the_species_in_a_usual_season() -> None:
    weeks = knowledge().profiles["acer-palmatum"].aftercare.wire_looks_weeks
    for on, wait in ((date(2015, 5, 5), weeks.extending), (date(2016, 1, 5), weeks.winter)):
        found = (day(phases().wire_bites(at(on))) - on).days
        assert found == pytest.approx(7 * wait, rel=0.25, abs=1)


def test_a_wire_of_the_year_before_bit_in_its_own_season() -> None:
    long_ago = at(date(2014, 6, 1))
    assert day(phases().wire_bites(long_ago)) < date(2014, 7, 1)


# Heat


def test_heat_is_of_the_days_on_which_it_grows() -> None:
    found = phases()
    heat = {month: found.heat_on(date(2015, month, 1)) for month in range(1, 13)}
    assert heat[1] == heat[3] == heat[4]  # buds are closed
    assert heat[5] < heat[6] < heat[7] < heat[8]
    assert heat[11] == heat[12]  # growth has stopped


def test_heat_of_the_year_before_the_first_cycle_counts() -> None:
    found = phases()
    summer = found.heat_on(date(2014, 8, 1)) - found.heat_on(date(2014, 6, 1))
    usual = found.heat_on(date(2016, 8, 1)) - found.heat_on(date(2016, 6, 1))
    assert summer == pytest.approx(usual, rel=0.15)


@given(st.dates(date(2005, 1, 1), date(2016, 12, 30)), st.integers(0, 300))
def test_heat_never_falls(on: date, later: int) -> None:
    then = min(date.fromordinal(on.toordinal() + later), date(2016, 12, 31))
    assert phases().heat_on(then) >= phases().heat_on(on) - 1e-6


def test_before_the_axis_each_year_has_the_heat_of_a_usual_one() -> None:
    found = phases()
    assert (
        found.heat_a_year > 1000
    )  # Nagano: 2800 degC d above 5 degC in a year, most of it while maples grow
    for year in (2007, 2010):
        grown = found.heat_on(date(year + 1, 3, 1)) - found.heat_on(date(year, 3, 1))
        assert grown == pytest.approx(found.heat_a_year, rel=0.02)


def test_heat_goes_on_from_day_to_day_where_the_axis_begins() -> None:
    """A fig in Miyazaki: the last days of February bring some four degrees each above 5, as do the first of March."""
    found = phases_of(maple(FIG, "Miyazaki"), TODAY)
    start = found.stages.axis.start.toordinal()
    ends = [found.heat_on(date.fromordinal(start + n)) for n in range(-4, 4)]
    assert ends[3] == 0.0  # the end of the day before
    assert np.diff(ends) == pytest.approx(np.full(7, 4.0), abs=2.0)


def test_a_tropical_tree_grows_all_year() -> None:
    assert phases(FIG).growing.all()
    assert not phases().growing.all()
