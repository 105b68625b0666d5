"""Figures of a year against sums done by hand; the scores of dates against NumPy's means. Gardens are made up."""

from __future__ import annotations

from datetime import date, timedelta
from uuid import UUID

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.garden.departures import Gone
from calendar_core.garden.parts import Measure, Part
from calendar_core.garden.state import Done, Reviewed, TreeState
from calendar_core.planning.items import Range
from calendar_core.planning.review.summary import Foretold, figures, paces, score, year_to

LAST = date(2015, 11, 28)
YEAR, BEFORE = year_to(LAST), year_to(date(2014, 11, 28))
TREE, OTHER = UUID(int=1), UUID(int=2)
DAY = timedelta(days=1)


def wound(n: int, height: float | None, *readings: tuple[date, float], kind: str = "wound") -> Part:
    part = Part(UUID(int=100 + n), TREE, UUID(int=n), date(2013, 1, 1), height_mm=height)
    part.kind = "wound" if kind == "wound" else "graft"
    part.measures += [Measure("width" if kind == "wound" else "exit", value, on) for on, value in readings]
    return part


def tree_of(*parts: Part, high: float | None = 300.0) -> TreeState:
    own = [] if high is None else [Measure("height", high, date(2014, 1, 1))]
    return TreeState(parts={part.id: part for part in parts}, measures=own)


SPRING, AUTUMN = date(2015, 3, 1), date(2015, 10, 1)


def test_paces_by_hand() -> None:
    """Low on the tree 2 mm in 365 days and 1 mm in 183: 3 mm in 548 days, 2.0 mm a year; on top 6 mm in a year of days."""
    state = tree_of(
        wound(1, 40, (date(2014, 10, 1), 12.0), (AUTUMN, 10.0)),
        wound(2, 90, (AUTUMN - 183 * DAY, 8.0), (AUTUMN, 7.0)),
        wound(3, 290, (date(2014, 10, 1), 16.0), (AUTUMN, 10.0)),
        wound(4, None, (SPRING, 5.0), (AUTUMN, 5.0)),
        wound(5, 150, (AUTUMN - 100 * DAY, 5.0), (AUTUMN, 4.0)),  # of one summer: no pace of a year
        wound(6, 150, (date(2013, 5, 1), 9.0), (date(2014, 5, 1), 6.0)),  # of the year before
    )
    wounds = [(part, state) for part in state.parts.values()]
    found = {pace.height: (round(pace.mm_a_year, 3), pace.wounds) for pace in paces(wounds, YEAR)}
    assert found == {
        "low": (round(3 / (548 / 365.25), 3), 2),
        "top": (round(6 / (365 / 365.25), 3), 1),
        "height unknown": (0.0, 1),
    }
    (before,) = paces(wounds, BEFORE)
    assert (before.height, before.wounds) == ("middle", 1)


def test_a_wound_counts_as_closed_once_and_its_pace_ends_there() -> None:
    state = tree_of(
        wound(1, 150, (SPRING - 100 * DAY, 4.0), (SPRING + 100 * DAY, 0.0), (AUTUMN, 0.0)),
        wound(2, 150, (SPRING, 4.0)),
    )
    year = figures(YEAR, {TREE: state}, ({}, {}), {}, [])
    assert (year.wounds_closed, year.wounds_open) == (1, 1)
    assert [round(pace.mm_a_year, 3) for pace in year.paces] == [round(4 / (200 / 365.25), 3)]
    assert figures(BEFORE, {TREE: state}, ({}, {}), {}, []).wounds_open == 2


def test_grafts_losses_vigour_and_looks_by_hand() -> None:
    works = [
        Done("repot", date(2015, 3, 20), UUID(int=7)),
        Done("sever graft", date(2015, 5, 1), UUID(int=8)),
        Done("wire", date(2014, 6, 1), UUID(int=9)),  # more than a year before it died
    ]
    looks = [
        Reviewed("late summer", 2015, "full", date(2015, 9, 12), 9.0),
        Reviewed("after leaf fall", 2016, "glance", date(2015, 11, 20)),
        Reviewed("late summer", 2014, "full", date(2014, 9, 12), 7.0),
    ]
    state = tree_of(wound(1, 40, (AUTUMN, 5.0), kind="graft"))
    state.done, state.reviews = works, looks
    gone = {
        TREE: Gone(date(2015, 8, 1), "died", UUID(int=5), "roots were wet"),
        OTHER: Gone(date(2015, 8, 1), "sold", UUID(int=6)),
    }
    vigours = {TREE: 3, OTHER: 4, UUID(int=3): 2}, {OTHER: 4, UUID(int=3): 3, UUID(int=4): 5}
    found = figures(YEAR, {TREE: state, OTHER: TreeState()}, vigours, gone, [])
    assert (found.grafts_measured, found.grafts_taken) == (1, 1)
    (loss,) = found.losses
    assert (loss.tree_id, loss.note, [done.operation for done in loss.before]) == (
        TREE, "roots were wet", ["repot", "sever graft"],
    )  # fmt: skip
    assert (found.vigour.up, found.vigour.same, found.vigour.down) == (1, 1, 0)
    assert (found.looks.trees, found.looks.looks, found.looks.minutes, found.looks.counted) == (1, 2, 9.0, 1)
    assert not found.empty
    assert figures(YEAR, {}, ({}, {}), {}, []).empty


def told(seen: date, error: int | None, half: int = 5) -> Foretold:
    if error is None:
        return Foretold(TREE, "bud_break", seen, seen - 30 * DAY, None)
    said = seen + error * DAY
    return Foretold(
        TREE, "bud_break", seen, seen - 30 * DAY, Range(said - half * DAY, said, said + half * DAY)
    )


@given(st.lists(st.none() | st.integers(-60, 60), max_size=20))
def test_scores_of_dates_are_the_means_of_their_errors(errors: list[int | None]) -> None:
    found = score([told(SPRING, error) for error in errors])
    known = np.array([error for error in errors if error is not None], dtype=float)
    assert (found.n, found.untold) == (known.size, len(errors) - known.size)
    if not known.size:
        assert (found.mean_days, found.bias_days, found.inside) == (None, None, None)
        return
    assert found.mean_days == pytest.approx(np.abs(known).mean())
    assert found.bias_days == pytest.approx(known.mean())
    assert found.inside == pytest.approx((np.abs(known) <= 5).mean())


def test_a_stage_seen_in_another_year_does_not_count() -> None:
    found = figures(YEAR, {}, ({}, {}), {}, [told(SPRING, 4), told(date(2014, 3, 1), -9)])
    assert found.errors == (4,)
    assert found.dates.bias_days == 4


def test_a_leap_day_has_a_year_before_it() -> None:
    assert date(2016, 2, 29) in year_to(date(2016, 2, 29))
    assert date(2015, 2, 28) not in year_to(date(2016, 2, 29))
    assert date(2015, 3, 1) in year_to(date(2016, 2, 29))
