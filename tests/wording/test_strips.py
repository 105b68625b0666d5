"""A window as a strip through the months, against the days of the window counted one by one."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from calendar_core.planning.items import Range
from calendar_core.wording.plan.strips import CLOSED, LIKELY, MONTHS, PERHAPS, strip

YEAR = 2015


def day(text: str, year: int = YEAR) -> date:
    return date.fromisoformat(f"{year}-{text}")


def sure(day_: date) -> Range:
    return Range(day_, day_, day_)


@st.composite
def windows(draw: st.DrawFn, most_days: int = 500) -> tuple[Range, Range]:
    """Opening and closing; each quantile of the closing lies on or after that of the opening."""
    first = draw(st.dates(date(2014, 1, 1), date(2017, 1, 1)))
    offsets = sorted(draw(st.lists(st.integers(0, most_days), min_size=6, max_size=6)))
    early, likely, a, b, c, late = (first + timedelta(days=n) for n in offsets)
    mixed = draw(st.booleans())  # openings and closings apart, or overlapping
    return (
        (Range(early, likely, b), Range(a, c, late))
        if mixed
        else (Range(early, likely, a), Range(b, c, late))
    )


def quarters(first: date, last: date) -> set[int]:
    """Places of the quarters of months touched from one day to another: days 1-8, 9-16, 17-24 and the rest."""
    days = (first + timedelta(days=n) for n in range((last - first).days + 1))
    starts = (1, 9, 17, 25)
    return {(day_.month - 1) * 4 + sum(day_.day >= start for start in starts) - 1 for day_ in days}


def places(text: str, signs: str) -> set[int]:
    return {place for place, sign in enumerate(text) if sign in signs}


@given(windows())
def test_a_strip_has_four_cells_for_each_month(window: tuple[Range, Range]) -> None:
    text = strip(*window)
    assert len(text) == 48 == len(f"{MONTHS} ")  # so that the months stand above their cells
    assert set(text) <= {LIKELY, PERHAPS, CLOSED}


@given(windows())
def test_cells_are_those_of_the_days_counted_one_by_one(window: tuple[Range, Range]) -> None:
    opens, closes = window
    text = strip(opens, closes)
    assert places(text, LIKELY) == quarters(opens.likely, closes.likely)
    assert places(text, LIKELY + PERHAPS) == quarters(opens.early, closes.late)


@given(windows(most_days=300))
def test_likely_lies_inside_perhaps(window: tuple[Range, Range]) -> None:
    opens, closes = window
    perhaps = strip(Range(opens.early, opens.early, opens.early), sure(closes.late))
    assert places(strip(opens, closes), LIKELY) <= places(perhaps, LIKELY)


@given(windows(), st.integers(-3, 3))
def test_the_same_days_of_another_year_give_the_same_strip(window: tuple[Range, Range], years: int) -> None:
    def moved(one: Range) -> Range:
        days = (one.early, one.likely, one.late)
        return Range(*(d.replace(year=d.year + years, day=min(d.day, 28)) for d in days))

    def held(one: Range) -> Range:
        return Range(*(d.replace(day=min(d.day, 28)) for d in (one.early, one.likely, one.late)))

    assert strip(*map(moved, window)) == strip(*map(held, window))


def test_a_winter_wraps_over_the_new_year() -> None:
    # By hand: likely 1 December to 8 January, perhaps from 20 November and until 30 January.
    opens = Range(day("11-20"), day("12-01"), day("12-05"))
    closes = Range(day("01-02", 2016), day("01-08", 2016), day("01-30", 2016))
    assert strip(opens, closes) == "#:::" + "." * 38 + "::" + "####"


def test_a_window_of_the_next_year_stands_in_its_months() -> None:
    opens, closes = sure(day("02-01", 2016)), sure(day("02-29", 2016))
    assert strip(opens, closes) == "...." + "####" + "." * 40


def test_a_single_day_is_one_cell() -> None:
    for text, place in (("01-01", 0), ("01-08", 0), ("01-09", 1), ("01-31", 3), ("12-25", 47), ("12-31", 47)):
        assert places(strip(sure(day(text)), sure(day(text))), LIKELY) == {place}


def test_a_full_year_is_open_throughout() -> None:
    assert strip(sure(day("01-01")), sure(day("12-31"))) == LIKELY * 48
    assert strip(sure(day("07-10")), sure(day("07-09", 2016))) == LIKELY * 48
    assert strip(sure(day("07-10")), sure(day("12-31", 2018))) == LIKELY * 48  # and longer than a year


def test_a_window_that_likely_closes_before_it_opens_is_nowhere_likely() -> None:
    opens = Range(day("04-01"), day("06-01"), day("06-20"))
    closes = Range(day("04-20"), day("05-01"), day("07-01"))
    assert places(strip(opens, closes), LIKELY) == set()
    assert places(strip(opens, closes), PERHAPS) == quarters(day("04-01"), day("07-01"))
