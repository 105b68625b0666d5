"""Why told dates moved, as arithmetic: whatever the chain of plans, its parts add up to the move."""

from __future__ import annotations

from datetime import date, timedelta
from uuid import UUID

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from calendar_core.knowledge.words import MOVE_CAUSES
from calendar_core.planning.moved_dates import (
    DateMove,
    MovePart,
    ToldDate,
    Written,
    differences,
    joined,
    spell_of,
    still_ahead,
    was_open,
)
from calendar_core.weather.daily import DailySeries

ID = UUID(int=1)
TODAY = date(2015, 6, 24)
DAYS = st.dates(date(2015, 1, 1), date(2015, 12, 31))
CAUSES = st.lists(st.sampled_from(MOVE_CAUSES), min_size=1, unique=True)


@given(told=DAYS, causes=CAUSES, data=st.data())
def test_parts_add_up_to_the_move(told: date, causes: list[str], data: st.DataObject) -> None:
    days = [data.draw(st.none() | DAYS) for _ in causes[:-1]] + [data.draw(DAYS)]
    found = differences(told, zip(causes, days, strict=True))  # type: ignore[arg-type]
    assert told + timedelta(days=sum(found.values())) == days[-1]
    assert set(found) <= set(causes)
    assert 0 not in found.values()


def test_each_part_is_what_its_step_did_and_a_step_without_the_date_leaves_its_share_to_the_next() -> None:
    steps = [("weather", date(2015, 6, 8)), ("forecast", None), ("sight", date(2015, 6, 12))]
    assert differences(date(2015, 6, 10), steps) == {"weather": -2, "sight": 4}  # type: ignore[arg-type]


def a_move(before: date, after: date, *parts: MovePart, told_on: date = date(2015, 6, 1)) -> DateMove:
    return DateMove(ID, "opens", ID, told_on, TODAY, before, after, parts, "repot", "repot", 2015)


PARTS = st.dictionaries(st.sampled_from(MOVE_CAUSES), st.integers(-40, 40).filter(bool), min_size=1)


@given(before=DAYS, first=PARTS, second=PARTS)
def test_two_moves_of_one_day_are_one(before: date, first: dict[str, int], second: dict[str, int]) -> None:
    between = before + timedelta(days=sum(first.values()))
    after = between + timedelta(days=sum(second.values()))
    one, other = (
        [MovePart(cause, days) for cause, days in parts.items()]  # type: ignore[arg-type]
        for parts in (first, second)
    )
    whole = joined(a_move(before, between, *one), a_move(between, after, *other, told_on=TODAY))
    if after == before:
        assert whole is None
        return
    assert whole is not None
    assert (whole.before, whole.after, whole.told_on) == (before, after, date(2015, 6, 1))
    assert sum(part.days for part in whole.parts) == whole.days
    assert [part.cause for part in whole.parts] == [
        c for c in MOVE_CAUSES if c in {p.cause for p in whole.parts}
    ]


def test_what_was_written_is_told_once_of_two_moves_of_a_day() -> None:
    notes = [Written("seen", stage, TODAY) for stage in ("flowering", "bloom_over")]
    first = a_move(TODAY, date(2015, 6, 27), MovePart("sight", 3, written=(notes[0],)))
    second = a_move(date(2015, 6, 27), date(2015, 6, 29), MovePart("sight", 2, written=tuple(notes)))
    whole = joined(first, second)
    assert whole is not None
    assert whole.parts == (MovePart("sight", 5, written=tuple(notes)),)


@pytest.mark.parametrize(
    ("side", "told", "now", "ahead"),
    [
        ("opens", "2015-07-01", "2015-06-28", True),
        ("opens", "2015-07-01", "2015-06-20", True),  # it has opened before its day
        ("opens", "2015-06-20", "2015-07-01", True),  # it was told as open, and is not
        ("opens", "2015-06-24", "2015-06-20", False),
        ("safe", "2015-06-24", "2015-06-20", True),  # today was the last day that was told
        ("safe", "2015-06-20", "2015-06-24", False),  # it walks on with today
        ("safe", "2015-06-20", "2015-06-30", True),
    ],
)
def test_what_has_been_is_no_news(side: str, told: str, now: str, ahead: bool) -> None:
    row = ToldDate(ID, side, ID, date.fromisoformat(told), TODAY, ID)  # type: ignore[arg-type]
    assert still_ahead(row, date.fromisoformat(now), TODAY) is ahead


@pytest.mark.parametrize(
    ("side", "now", "stood"),
    [
        ("opens", "2015-02-24", True),  # last spring's
        ("opens", "2015-05-31", True),
        ("opens", "2015-06-01", False),
        ("opens", "2015-06-20", False),  # it came before the day it was told for: news
        ("safe", "2015-05-31", False),  # there is less time than was told
    ],
)
def test_a_window_that_stood_open_when_it_was_told_did_not_move(side: str, now: str, stood: bool) -> None:
    told = ToldDate(ID, side, ID, date(2015, 8, 17), date(2015, 6, 1), ID)  # type: ignore[arg-type]
    assert was_open(told, date.fromisoformat(now)) is stood


@given(
    usual=st.floats(-10, 25),
    warmer=st.floats(-8, 8),
    more=st.floats(-8, 8),
    gaps=st.sets(st.integers(0, 9), max_size=9),
)
def test_a_spell_tells_of_the_measured_days_alone(
    usual: float, warmer: float, more: float, gaps: set[int]
) -> None:
    assume(abs(warmer) > 0.01 and abs(more) > 0.01)
    mean = np.full(10, usual + warmer)
    low, high = mean - 5, mean + 5
    low[list(gaps)] = np.nan
    days = DailySeries(date(2015, 6, 1), low, high)
    expected = np.full(10, usual + warmer - more)
    found = spell_of(days, np.full(10, usual), expected)
    assert found is not None
    assert (found.first, found.last) == (date(2015, 6, 1), date(2015, 6, 10))
    told = more if warmer * more < 0 else warmer  # what moved the dates has the sign of what was not expected
    assert found.warmer_c == pytest.approx(told, abs=0.006)
    assert found.than == ("expected" if warmer * more < 0 else "usual")


def test_no_measured_day_is_no_spell() -> None:
    none = np.full(3, np.nan)
    assert spell_of(DailySeries(TODAY, none, none), none, none) is None
