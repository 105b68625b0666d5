"""Strips: a bar's ends as soft as they are unsure, today's mark on its day, months where they begin."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.planning.items import Range
from calendar_core.publishing.pictures.strips import FAINT, STRONGEST, Days, Window, window_strip
from tests.publishing.pictures.read_back import Bar, Picture

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "June", "July", "Aug", "Sept", "Oct", "Nov", "Dec")
NORTH = Days(date(2015, 5, 28), date(2016, 6, 25))
SOUTH = Days(date(2015, 10, 12), date(2016, 11, 9))


def about(likely: date, before: int, after: int) -> Range:
    return Range(likely - timedelta(days=before), likely, likely + timedelta(days=after))


CUT = Window(about(date(2015, 7, 10), 9, 8), about(date(2015, 8, 20), 10, 14))


def x(day: date, days: Days, width: float = 346.0) -> float:
    """The middle of a day, counted by hand."""
    return width * ((day - days.start).days + 0.5) / ((days.end - days.start).days + 1)


def strength(bar: Bar, place: float) -> float:
    for (before, low), (after, high) in zip(bar.stops, bar.stops[1:], strict=False):
        if before <= place <= after:
            return low + (high - low) * (place - before) / ((after - before) or 1)
    raise AssertionError(place)


def test_a_window_is_as_dark_as_the_share_of_years_in_which_it_is_open() -> None:
    drawn = Picture(window_strip("Cut back.", NORTH, [CUT], date(2015, 7, 20)))
    (bar,) = drawn.bars
    for day, share in (
        (CUT.opens.likely, 0.5),
        (date(2015, 7, 19), 1.0),
        (date(2015, 8, 9), 1.0),
        (date(2015, 8, 20), 0.5),
        (date(2015, 7, 14), 0.5 + 0.5 * 4 / 8.5),  # on the way from the likely day to the late one's evening
    ):
        assert strength(bar, x(day, NORTH)) == pytest.approx(share * STRONGEST, abs=0.01), day
    assert bar.left == pytest.approx(x(CUT.opens.early, NORTH), abs=0.6)
    assert CUT.closes is not None
    assert bar.right == pytest.approx(x(CUT.closes.late, NORTH), abs=0.6)
    assert bar.stops[0][1] == bar.stops[-1][1] == pytest.approx(FAINT * STRONGEST, abs=0.001)


def test_a_stage_is_darkest_on_its_likely_day_and_has_a_stroke_there() -> None:
    come = about(date(2015, 9, 30), 12, 20)
    drawn = Picture(window_strip("Leaves colour.", NORTH, [Window(come, chance=0.8)]))
    (bar,) = drawn.bars
    assert max(bar.stops, key=lambda stop: stop[1]) == pytest.approx(
        (x(come.likely, NORTH), 0.8 * STRONGEST), abs=0.05
    )
    (stroke,) = (s for s in drawn.strokes if s.ink == "ink")
    assert all(point[0] == pytest.approx(x(come.likely, NORTH), abs=0.06) for point in stroke.points)


@pytest.mark.parametrize("today", [date(2015, 5, 28), date(2015, 12, 31), date(2016, 6, 25)])
def test_today_is_marked_on_its_day_by_more_than_colour(today: date) -> None:
    drawn = Picture(window_strip("Cut back.", NORTH, [CUT], today))
    (mark,) = (s for s in drawn.strokes if s.ink == "accent")
    assert all(point[0] == pytest.approx(x(today, NORTH), abs=0.06) for point in mark.points)
    (bar,) = drawn.bars
    assert mark.points[0][1] < bar.top
    assert mark.points[1][1] > bar.bottom


def test_a_window_beyond_the_axis_is_cut_and_has_arrows() -> None:
    whole = Window(about(date(2015, 4, 1), 20, 20), about(date(2016, 7, 20), 10, 10))
    svg = window_strip("All year.", NORTH, [whole])
    (bar,) = Picture(svg).bars
    assert (bar.left, bar.right) == (0.0, 346.0)
    assert [value for _, value in bar.stops] == pytest.approx([STRONGEST] * len(bar.stops), abs=0.001)
    assert svg.count('fill-opacity="1"') == 2
    gone = Window(about(date(2015, 3, 1), 5, 5), about(date(2015, 4, 1), 5, 5))
    assert not Picture(window_strip("Over.", NORTH, [gone])).bars
    assert 'fill-opacity="1"' not in window_strip("Over.", NORTH, [gone])


def test_a_window_that_is_sure_has_hard_ends() -> None:
    sure = Window(about(date(2015, 7, 1), 0, 0), about(date(2015, 7, 31), 0, 0))
    (bar,) = Picture(window_strip("Sure.", NORTH, [sure])).bars
    assert strength(bar, x(date(2015, 7, 15), NORTH)) == pytest.approx(STRONGEST, abs=0.001)
    assert strength(bar, x(date(2015, 7, 2), NORTH)) == pytest.approx(STRONGEST, abs=0.001)


@pytest.mark.parametrize("days", [NORTH, SOUTH])
def test_months_are_named_where_they_begin(days: Days) -> None:
    drawn = Picture(window_strip("Cut back.", days, [CUT], months=MONTHS))
    assert len(drawn.texts) >= 5
    named = 0
    for first in (date(days.start.year + (n > 11), n % 12 + 1, 1) for n in range(24)):
        if days.start.replace(day=1) <= first <= days.end:
            place = x(max(first, days.start), days) - 346.0 / 2 / ((days.end - days.start).days + 1)
            named += any(
                t.words == MONTHS[first.month - 1] and abs(t.left - place - 2) < 0.2 for t in drawn.texts
            )
    assert named == len(drawn.texts)


DATES = st.dates(date(2014, 1, 1), date(2017, 12, 31))


LATER = st.integers(0, 80)


@st.composite
def any_window(draw: st.DrawFn) -> Window:
    opens = about(draw(DATES), draw(LATER), draw(LATER))
    closes = about(opens.likely + timedelta(days=draw(LATER)), draw(LATER), draw(LATER))
    later = Range(*(max(pair) for pair in zip(
        (opens.early, opens.likely, opens.late), (closes.early, closes.likely, closes.late), strict=True
    )))  # fmt: skip
    return Window(opens, draw(st.sampled_from([None, later])), draw(st.floats(0.1, 1.0)))


@given(st.lists(any_window(), max_size=4), DATES)
def test_any_windows_stay_in_the_picture(windows: list[Window], today: date) -> None:
    drawn = Picture(window_strip("Any.", SOUTH, windows, today, MONTHS))
    assert any(s.ink == "accent" for s in drawn.strokes) is (SOUTH.start <= today <= SOUTH.end)
    seen = [w for w in windows if w.opens.early <= SOUTH.end and w.last.late >= SOUTH.start]
    assert len(drawn.bars) == len(seen)
