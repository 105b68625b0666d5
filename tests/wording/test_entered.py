"""What the plan has anew after a look, in words: nothing of days that are over, and each job once."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from calendar_core.planning.items import Item, Range
from calendar_core.wording.review.enter_text import anew
from tests.wording.plain import speaker

TODAY, ID = date(2015, 9, 20), UUID(int=1)


def item(operation: str, day: date, part: str = "") -> Item:
    days = Range(day, day, day)
    return Item(
        ID,
        ID,
        "acer-palmatum",
        operation,
        operation,
        day.year,
        "structure",
        days,
        days,
        1.0,
        "due",
        "",
        (),
        part=part,
    )


def told(*items: Item) -> list[str]:
    return anew(speaker(today=TODAY), items)


def test_what_is_open_already_is_now_and_named_once() -> None:
    spring = [item("pinch", date(year, 2, 24)) for year in (2016, 2015)]
    assert told(*spring) == ["In the plan now: Pinch, now."]
    assert told(item("pinch", TODAY)) == ["In the plan now: Pinch, now."]


def test_a_job_of_two_parts_is_two_and_the_more_counts_jobs() -> None:
    parts = [item("unwire", date(2015, 10, 1), part) for part in ("low", "low", "first", "top", "apex")]
    first, second, third = (f"Take the wire off ({part}), 1 October" for part in ("low", "first", "top"))
    assert told(*parts) == [f"In the plan now: {first}; {second}; {third} and 1 more."]
