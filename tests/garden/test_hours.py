"""The grower's free minutes from the log."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from calendar_core.garden.hours import USUAL_WEEK, absences, free_minutes, weekly
from calendar_core.garden.model import Entry
from calendar_core.garden.state import chosen, states

if TYPE_CHECKING:
    from calendar_core.garden.model import EntryKind

MONDAY = date(2015, 6, 22)
NOON = datetime(2015, 6, 1, 12, tzinfo=UTC)


def entry(number: int, kind: EntryKind, on: date = MONDAY, voids: int | None = None, **data: Any) -> Entry:
    """An entry of no tree; those with larger numbers are written later."""
    wrong = None if voids is None else UUID(int=voids)
    at = NOON + timedelta(seconds=number)
    return Entry(UUID(int=number), UUID(int=0), (), on, at, "owner", kind, data, voids=wrong)


def away(number: int, first: date, last: date) -> Entry:
    data: dict[str, Any] = {"from": first.isoformat(), "until": last.isoformat()}  # "from" is no name
    return entry(number, "away", **data)


def test_nothing_written_is_a_usual_week() -> None:
    assert weekly([], MONDAY) is None
    assert free_minutes([], MONDAY, 8).tolist() == [20, 20, 20, 20, 20, 120, 120, 20]


def test_the_pattern_runs_by_weekday_from_any_day() -> None:
    written = [entry(1, "hours", weekly=[1, 2, 3, 4, 5, 6, 7])]
    assert free_minutes(written, MONDAY + timedelta(days=5), 4).tolist() == [6, 7, 1, 2]


def test_the_last_pattern_counts_and_a_voided_one_does_not() -> None:
    first, second = entry(1, "hours", weekly=[10] * 7), entry(2, "hours", weekly=[30] * 7)
    assert free_minutes([second, first], MONDAY, 1).tolist() == [30]
    void = entry(3, "hours", voids=2)
    assert free_minutes([first, second, void], MONDAY, 1).tolist() == [10]


def test_a_pattern_of_a_later_day_is_not_known_yet() -> None:
    later = entry(1, "hours", on=MONDAY + timedelta(days=1), weekly=[10] * 7)
    assert free_minutes([later], MONDAY, 3).tolist() == [20, 20, 20]


def test_days_away_are_empty_first_and_last_included() -> None:
    written = [away(1, date(2015, 6, 24), date(2015, 6, 26)), away(2, date(2015, 6, 26), date(2015, 6, 27))]
    assert free_minutes(written, MONDAY, 7).tolist() == [20, 20, 0, 0, 0, 0, 120]
    assert absences(written, MONDAY) == (
        (date(2015, 6, 24), date(2015, 6, 26)),
        (date(2015, 6, 26), date(2015, 6, 27)),
    )


def test_other_folds_pass_over_hours_and_absences() -> None:
    written = [entry(1, "hours", weekly=[10] * 7), away(2, MONDAY, MONDAY)]
    assert chosen(written, MONDAY) == {}
    assert states([UUID(int=9)], written, MONDAY)[UUID(int=9)].done == []


@given(st.integers(0, 800), st.integers(0, 60), st.integers(0, 100), st.integers(0, 100))
def test_free_time_is_never_more_than_the_pattern(start: int, length: int, begins: int, days: int) -> None:
    first = MONDAY + timedelta(days=start)
    gone = away(1, MONDAY + timedelta(days=start + begins), MONDAY + timedelta(days=start + begins + days))
    free, usual = free_minutes([gone], first, length), free_minutes([], first, length)
    assert free.shape == (length,)
    assert ((free == usual) | (free == 0)).all()
    assert set(usual.tolist()) <= set(USUAL_WEEK)
