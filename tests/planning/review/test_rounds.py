"""Rounds of single trees, from stage dates that are made up."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.planning.items import Range, StageDate
from calendar_core.planning.review.rounds import TreeSeason, round_windows
from tests.planning.made_up import knowledge

if TYPE_CHECKING:
    from calendar_core.planning.review.rounds import RoundWindow

RULES = knowledge().review
STOP, COLOUR, FALL = date(2015, 9, 18), date(2015, 11, 5), date(2015, 11, 20)
WEEK = timedelta(weeks=1)


def stage(name: str, on: date, share: float = 1.0) -> StageDate:
    return StageDate(name, None, 2015, Range(on - WEEK, on, on + WEEK), share, False, "estimate")


def windows(
    *stages: StageDate,
    species: str = "acer-palmatum",
    frost: date | None = None,
    today: date = date(2015, 8, 1),
) -> list[RoundWindow]:
    frosts = () if frost is None else (frost,)
    profile = knowledge().profiles[species]
    begins = {2015: date(2014, 12, 1), 2016: date(2015, 12, 1)}
    told = round_windows(TreeSeason(UUID(int=1), profile, stages, frosts, begins), RULES, today)
    return [window for window in told if window.cycle == 2015]


AUTUMN = (stage("growth_stop", STOP), stage("colour", COLOUR), stage("leaf_fall", FALL))


def test_a_maple_has_a_round_as_growth_stops_and_one_as_leaves_are_down() -> None:
    late, bare = windows(*AUTUMN)
    assert (late.round, late.opens, late.closes) == ("late summer", STOP, COLOUR)
    assert (bare.round, bare.opens, bare.closes) == ("after leaf fall", FALL, FALL + 6 * WEEK)
    assert [reason.code for reason in late.reasons] == ["round_opens", "round_closes_colour"]


@pytest.mark.parametrize(
    ("frost", "closes"),
    [
        (date(2015, 11, 27), date(2015, 10, 16)),  # six weeks before it
        (date(2015, 12, 31), COLOUR),
        (date(2015, 10, 15), STOP + 3 * WEEK),  # it must be looked at all the same
        (date(2016, 5, 1), COLOUR),  # of another season
        (date(2015, 8, 30), COLOUR),
    ],
)
def test_cuts_are_closed_six_weeks_before_the_first_frost(frost: date, closes: date) -> None:
    """Six weeks are common practice (config/review.toml)."""
    assert windows(*AUTUMN, frost=frost)[0].closes == closes


def test_a_stage_that_most_years_lack_opens_no_round() -> None:
    (only,) = windows(AUTUMN[0], AUTUMN[1], stage("leaf_fall", FALL, 0.4))
    assert only.round == "late summer"
    (yearly,) = windows(*(stage(each.stage, FALL, 0.4) for each in AUTUMN), today=date(2014, 12, 1))
    assert (yearly.round, yearly.opens) == ("yearly", date(2014, 12, 1))


def test_colour_that_most_years_lack_closes_nothing() -> None:
    late, _ = windows(AUTUMN[0], stage("colour", COLOUR, 0.4), AUTUMN[2])
    assert late.closes == FALL


def test_the_round_after_leaf_fall_lasts_until_buds_swell() -> None:
    swell = StageDate("bud_swell", 1, 2016, Range(*[date(2016, 3, 6)] * 3), 1.0, False, "estimate")
    _, bare = windows(*AUTUMN, swell)
    assert bare.closes == date(2016, 3, 5)
    assert bare.best == FALL + 6 * WEEK
    assert bare.reasons[-1].code == "round_closes_buds"


def test_a_tree_with_one_rest_has_one_round_about_it() -> None:
    (only,) = windows(stage("cool_rest", date(2015, 9, 24)), species="ficus-microcarpa")
    assert (only.opens, only.closes) == (date(2015, 9, 3), date(2015, 10, 15))
    assert only.reasons[0].code == "round_around"


def test_a_round_that_is_over_is_not_told() -> None:
    assert [window.round for window in windows(*AUTUMN, today=COLOUR)] == ["late summer", "after leaf fall"]
    assert [window.round for window in windows(*AUTUMN, today=COLOUR + timedelta(days=1))] == [
        "after leaf fall"
    ]


@given(st.integers(0, 120), st.integers(0, 60), st.integers(-60, 200))
def test_a_round_is_open_for_its_weeks_at_least(colour: int, fall: int, frost: int) -> None:
    turned = STOP + timedelta(days=colour)
    stages = (AUTUMN[0], stage("colour", turned), stage("leaf_fall", turned + timedelta(days=fall)))
    for window in windows(*stages, frost=STOP + timedelta(days=frost)):
        assert window.closes >= window.opens + 3 * WEEK
