"""The moves of a tree: in before the cold, out after it, not to and fro."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING
from uuid import uuid4

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from calendar_core.planning.places.bounds import Bound, within
from calendar_core.planning.places.chances import ChanceLine
from calendar_core.planning.places.moves import Move, Never, Stay
from calendar_core.planning.places.spells import FAR, closed, first, runs, starts
from calendar_core.planning.seasons.axis import axis_for
from tests.planning.places.made_places import (
    AXIS,
    FRAME,
    OPEN,
    ROOM,
    RULES,
    SHED,
    SUMMER,
    bound,
    chances,
    mover,
    noise,
    with_forecast,
    years,
)

if TYPE_CHECKING:
    from tests.planning.places.made_places import Floats

STAY, AHEAD = int(RULES.stay_days.value), int(RULES.ahead_days.value)
ON_THE_BENCH = Stay(OPEN, 0, OPEN)
LINE = bound(-4.0, open_only=True)
WINTER = AXIS.midwinter(2016) - 10
Days = st.lists(st.booleans(), max_size=40)


def move_of(found: Move | Never) -> Move:
    assert isinstance(found, Move), found
    return found


# -- days in a row, against plain loops -------------------------------------------------------------------


@given(Days)
def test_runs_are_counted_as_by_hand(days: list[bool]) -> None:
    expected = []
    for i in range(len(days)):
        n = 0
        while i + n < len(days) and days[i + n]:
            n += 1
        expected.append(FAR if i + n == len(days) and n else n)
    assert runs(np.array(days, bool)).tolist() == expected


@given(Days)
def test_starts_are_found_as_by_hand(days: list[bool]) -> None:
    expected = []
    for i in range(len(days)):
        begin = i
        while days[i] and begin > 0 and days[begin - 1]:
            begin -= 1
        expected.append(begin)
    assert starts(np.array(days, bool)).tolist() == expected


@given(Days, st.integers(1, 20))
def test_short_pauses_are_closed_as_by_hand(days: list[bool], gap: int) -> None:
    expected, on = list(days), [i for i, day in enumerate(days) if day]
    for a, b in pairwise(on):
        if b - a <= gap:
            expected[a:b] = [True] * (b - a)
    assert closed(np.array(days, bool), gap).tolist() == expected


@given(Days, st.integers(-5, 45), st.integers(0, 20))
def test_the_first_day_and_days_shortly_before(days: list[bool], begin: int, ahead: int) -> None:
    expected = next((i for i in range(max(begin, 0), len(days)) if days[i]), None)
    assert first(np.array(days, bool), begin) == expected
    near = [any(days[i : i + ahead + 1]) for i in range(len(days))]
    if days:
        assert within(np.array(days, bool), ahead).tolist() == near


# -- one tree ---------------------------------------------------------------------------------------------


def into(shift_c: float) -> Move | Never:
    """Return the way in of a tree on the bench, in a climate so much warmer."""
    return mover([LINE], chances(years(shift_c=shift_c))).next(ON_THE_BENCH, SUMMER)


@given(st.floats(-8.0, 8.0), st.floats(0.0, 4.0))
@settings(max_examples=25, deadline=None)
def test_colder_air_never_brings_a_later_move_in(shift_c: float, by_c: float) -> None:
    warm, cold = into(shift_c), into(shift_c - by_c)
    if isinstance(warm, Move):
        assert move_of(cold).by <= warm.by


@given(st.floats(5.0, 20.0))
@settings(max_examples=15, deadline=None)
def test_a_tree_that_stands_safe_is_never_asked(above_c: float) -> None:
    """The coldest night of all years lies above its line."""
    mean = years()
    line = bound(float(mean.min()) - 5.0 - above_c)
    assert mover([line], chances(mean)).next(ON_THE_BENCH, SUMMER) == Never("cold_never")
    assert list(mover([line], chances(mean)).moves(ON_THE_BENCH)) == []


def test_in_before_the_cold_and_out_after_it() -> None:
    known = chances(years())
    usual = known.usual(LINE.line, "open")
    there, back = mover([LINE], known).moves(ON_THE_BENCH)
    assert (there.into, back.into) == (True, False)
    assert (usual[SUMMER : there.by] <= RULES.risk["night"].into).all()
    assert usual[there.by] > RULES.risk["night"].into
    assert there.opens == there.by - AHEAD
    assert back.opens > there.by + STAY
    assert (usual[back.opens : back.opens + STAY] <= RULES.risk["night"].out_of).all()
    assert (there.to, back.to) == (FRAME, OPEN)


def test_the_south_moves_half_a_year_later() -> None:
    """Seasons of the made-up wave are 183 days apart."""
    south = axis_for(-45.0, (2015, 2016, 2017))
    here = list(mover([LINE], chances(years())).moves(ON_THE_BENCH))
    line = bound(-4.0, n_days=south.n_days, open_only=True)
    today = south.midsummer(2015)
    there = list(mover([line], chances(years(south), axis=south, today=today)).moves(ON_THE_BENCH))
    for one, other in zip(here, there, strict=True):
        days = [(south.day(b) - AXIS.day(a)).days for a, b in ((one.opens, other.opens), (one.by, other.by))]
        assert days == pytest.approx(
            [183, 183], abs=2
        )  # as the years begin 184 days apart, with the same noise


def test_a_tree_that_stays_too_short_outside_stays_in() -> None:
    """At the height of a summer whose nights come up to 9 degC, they stay above 8.9 for two and a half weeks."""
    mean = years(mean_c=5.0, swing_c=9.0)
    nights = bound(8.9, "nights")
    found = mover([nights], chances(mean), rests=False).next(Stay(ROOM, 0, OPEN), SUMMER - 90)
    assert isinstance(found, Never)
    assert found.code == "season_short"


# -- with a forecast --------------------------------------------------------------------------------------


def autumn(days: list[float], before: int = 0) -> tuple[Move | Never, Move]:
    """Return the way in on a day before the usual one, under a forecast of daily means, and the usual one."""
    mean = years()
    usual = move_of(mover([LINE], chances(mean)).next(ON_THE_BENCH, SUMMER))
    today = usual.by - before
    known = chances(with_forecast(mean, today, days), today=today, forecast_days=len(days))
    return mover([LINE], known).next(ON_THE_BENCH, today), usual


def test_a_cold_forecast_brings_it_forward_and_says_so() -> None:
    found, usual = autumn([6.0, 5.0, -10.0, -10.0], before=40)
    assert move_of(found).by == usual.by - 40
    assert move_of(found).forecast


def test_a_mild_forecast_puts_it_off_but_not_for_long() -> None:
    found, usual = autumn([15.0] * 10)
    assert usual.by < move_of(found).by <= usual.by + STAY


def told(mean: Floats, today: int, forecast_days: int = 0) -> int:
    """Return the last day, or that since which it is late, as it is told of a tree on the bench."""
    known = chances(mean, today=today, forecast_days=forecast_days, members=2)
    found = move_of(mover([LINE], known).next(ON_THE_BENCH, today))
    return found.by if found.overdue is None else found.overdue


@pytest.mark.slow
@given(st.integers(0, 1000))
@example(586)  # a share of years that is just the risk at which a tree goes
@settings(max_examples=12, deadline=None)
def test_the_last_day_of_a_usual_year_stays_while_today_walks_on(seed: int) -> None:
    """The possible years are the same ones in each year ahead, as past years are."""
    slot = np.arange(AXIS.n_days) % 365
    mean = years()[:, slot] + noise(30, 365, seed)[:, slot]
    begins = told(mean, SUMMER)
    days = {told(mean, today) for today in range(begins - 30, begins + 60, 3)}
    assert days == {begins}


@pytest.mark.slow
@given(st.integers(-5, 30), st.integers(0, 1000))
@settings(max_examples=20, deadline=None)
def test_what_a_forecast_put_off_stays_put_off(mild: int, seed: int) -> None:
    """Days are mild until so long after the usual day, then cold, and all forecasts come true.

    What was told to be the last day is, once it is over, that since which the move is late.
    """
    mean = years() + noise(30, AXIS.n_days, seed)
    begins = told(mean, SUMMER)
    came = np.where(np.arange(AXIS.n_days) < begins + mild, 15.0, -10.0)
    days = [
        (today, told(with_forecast(mean, SUMMER, came[SUMMER : today + 10]), today, forecast_days=10))
        for today in range(begins - 30, begins + 60, 2)
    ]
    over = [day for today, day in days if day <= today]
    assert max(over) - min(over) <= 1
    last = [day for today, day in days if day > today][-1]
    assert abs(last - over[0]) <= 2  # it was told two days before
    assert over[0] <= begins + STAY + 1


def test_a_tree_in_a_warm_room_is_late_since_its_winter_began() -> None:
    """Where the axis begins in winter, its first day is a day as any other."""
    mean = years()
    first_cold = chances(np.where(np.arange(AXIS.n_days) < 40, -20.0, mean), today=20)
    found = mover([LINE], first_cold).next(Stay(ROOM, 0, OPEN), 20)
    assert move_of(found).overdue == AHEAD


def test_a_cool_week_in_summer_calls_in_no_tree_that_lives_by_nights() -> None:
    """Cool nights harm slowly; growers wait for nights that stay cool, or for one that harms by itself."""
    mean = years(mean_c=8.0)  # nights of 13 degC at the height of summer
    lines = [bound(3.0), bound(10.0, "nights")]
    usual = move_of(mover(lines, chances(mean), rests=False).next(ON_THE_BENCH, SUMMER))
    for day, is_called in ((SUMMER, False), (usual.by - AHEAD, True)):
        known = chances(with_forecast(mean, day, [10.0] * 10), today=day, forecast_days=10)
        found = move_of(mover(lines, known, rests=False).next(ON_THE_BENCH, day))
        assert (found.by == day) == is_called
    cold = chances(with_forecast(mean, SUMMER, [5.0] * 10), forecast_days=10)  # nights of 0 degC
    assert move_of(mover(lines, cold, rests=False).next(ON_THE_BENCH, SUMMER)).by == SUMMER


def test_a_tree_just_brought_out_is_carried_back_only_from_what_would_kill() -> None:
    mean = years()
    lines = [LINE, bound(-10.0, "killing")]
    out = list(mover(lines, chances(mean)).moves(ON_THE_BENCH))[1].opens
    standing = Stay(OPEN, out, OPEN)
    today = out + 3
    for day_c, carried in ((-1.0, False), (-16.0, True)):
        known = chances(with_forecast(mean, today, [day_c] * 5), today=today, forecast_days=5)
        found = move_of(mover(lines, known).next(standing, today))
        assert (found.by < out + STAY) == carried


def test_where_there_is_no_forecast_none_is_named_and_cut_roots_are() -> None:
    """A tree brought out after its roots were cut in a usual late winter (common practice: no frost for six weeks)."""
    mean = years()
    today = AXIS.midwinter(2016) + 45
    fresh = np.arange(AXIS.n_days) < today + 40
    lines = ChanceLine("night", 0.0), ChanceLine("killing", -2.0)
    roots = [Bound(line, fresh, open_only=False, why="fresh_roots") for line in lines]
    found = move_of(
        mover([bound(-20.0), *roots], chances(mean, today=today)).next(Stay(OPEN, today, OPEN), today)
    )
    assert found.by == today
    assert not found.forecast
    assert found.bound is not None
    assert found.bound.why == "fresh_roots"


def test_the_line_told_is_the_one_that_made_the_day() -> None:
    """Out above 10 degC by night (Nebraska Extension): nights that harm at once come later in autumn, and end sooner."""
    lines, mean = [bound(3.0), bound(10.0, "nights")], years(swing_c=15.0)
    usual = move_of(mover(lines, chances(mean), rests=False).next(ON_THE_BENCH, SUMMER))
    for today in range(usual.by + 20, usual.by + 60, 10):
        known = chances(with_forecast(mean, today, [4.0] * 3), today=today, forecast_days=3)
        late = move_of(mover(lines, known, rests=False).next(ON_THE_BENCH, today))
        assert late.overdue is not None
        assert late.bound is lines[1]
    winter, inside = AXIS.midwinter(2016), Stay(ROOM, usual.by, OPEN)
    for one in (lines, lines[:1], lines[1:]):
        out = move_of(mover(one, chances(mean, today=winter), rests=False).next(inside, winter))
        assert not out.into
        assert out.bound is one[-1]


# -- where to ---------------------------------------------------------------------------------------------


def test_a_resting_tree_goes_into_the_coolest_place_that_serves() -> None:
    known = chances(years(shift_c=-8.0))
    hardy, tender = [bound(-6.0)], [bound(-2.0)]
    assert move_of(mover(hardy, known).next(ON_THE_BENCH, SUMMER)).to == FRAME
    assert move_of(mover(tender, known).next(ON_THE_BENCH, SUMMER)).to == SHED


def test_where_no_cool_place_serves_it_is_told() -> None:
    known = chances(years(shift_c=-8.0))
    nowhere = move_of(mover([bound(-2.0)], known, [OPEN]).next(ON_THE_BENCH, SUMMER))
    assert (nowhere.to, nowhere.goal.serves) == (None, "frost-free")
    warm = move_of(mover([bound(-2.0)], known, [OPEN, ROOM]).next(ON_THE_BENCH, SUMMER))
    assert (warm.to, warm.goal.fit, warm.goal.serves) == (ROOM, "too warm", "frost-free")


def test_a_tree_that_must_rest_goes_on_from_a_warm_room_until_its_buds_move() -> None:
    known = chances(years(shift_c=-8.0), today=WINTER)
    for days, asked in ((3, True), (20, True), (60, False)):
        stay = Stay(ROOM, WINTER - days, OPEN)
        found = mover([LINE], known).next(stay, WINTER)
        assert (isinstance(found, Move) and found.into) == asked
        if asked:
            assert move_of(found).to == FRAME


def test_a_tree_in_leaf_goes_into_the_dark_only_for_want_of_a_light_place() -> None:
    known, dark = chances(years(shift_c=-8.0)), replace(FRAME, cloth_percent=100)
    both = [OPEN, dark, replace(FRAME, id=uuid4())]
    for spots, leafy, to in ((both, True, both[2]), (both, False, dark), ([OPEN, dark], True, dark)):
        found = mover([LINE], known, spots, leafy=leafy).next(ON_THE_BENCH, SUMMER)
        assert move_of(found).to == to


def test_for_want_of_a_warm_room_a_tender_tree_goes_into_the_best_there_is_and_is_not_asked_on() -> None:
    line, known = bound(10.0, "nights"), chances(years(), today=WINTER)
    found = move_of(mover([line], known, [OPEN, FRAME, SHED], rests=False).next(ON_THE_BENCH, WINTER))
    assert (found.to, found.goal.fit, found.goal.serves) == (SHED, "too cold", "heated")
    on = list(mover([line], known, [OPEN, FRAME, SHED], rests=False).moves(Stay(SHED, WINTER - 3, OPEN)))
    assert [(one.to, one.into) for one in on] == [(None, True), (OPEN, False)]


def test_a_tree_that_does_not_rest_goes_into_the_heated_room() -> None:
    found = mover([bound(10.0, "nights")], chances(years()), rests=False).next(ON_THE_BENCH, SUMMER)
    assert move_of(found).to == ROOM


def test_quarantine_keeps_to_itself() -> None:
    kept = replace(FRAME, quarantine=True)
    found = move_of(mover([LINE], chances(years()), [OPEN, kept]).next(ON_THE_BENCH, SUMMER))
    assert found.to is None
