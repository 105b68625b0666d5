"""The day of a walk: what is typed of its sheet was found then, and what was to be asked then is what was asked."""

from __future__ import annotations

from datetime import date

import pytest

from calendar_core.app.review.asked import Asked
from calendar_core.app.review.visits import Visits
from calendar_core.app.shell.session import open_session
from tests.app.review.entered import MAPLE, WALK, WEEK_LATER, data, entries, form, on, walked, with_parts

pytestmark = pytest.mark.usefixtures("walked")
__all__ = ["walked", "with_parts"]


def mark(day: str) -> str:
    return f"sheet: {data('log', MAPLE)[0]['garden_id'].replace('-', '')[:8]} {day}"


def test_what_is_typed_of_a_sheet_happened_on_the_day_of_its_walk() -> None:
    assert form(mark(WALK), f"{MAPLE}: vigour=4; drainage=20", day=WEEK_LATER).err == ""
    assert {entry["happened"] for entry in entries()} == {WALK}


def test_a_walk_that_was_taken_before_its_day_is_todays() -> None:
    assert form(mark(WEEK_LATER), f"{MAPLE}: vigour=4; drainage=20").err == ""
    assert {entry["happened"] for entry in entries()} == {WALK}


def test_without_a_sheet_it_is_today_and_a_day_that_is_named_counts_before_it() -> None:
    form(f"{MAPLE}: vigour=4", day=WEEK_LATER)
    assert {entry["happened"] for entry in entries()} == {WEEK_LATER}
    tree = "Japanese maple 2"
    form(mark(WALK), f"{tree}: vigour=4", day=WEEK_LATER, words=("--day", "2015-09-22"))
    assert {entry["happened"] for entry in entries(tree)} == {"2015-09-22"}


def test_a_sheet_sent_again_later_adds_nothing() -> None:
    lines = (mark(WALK), f"{MAPLE}: vigour=4; drainage=20; first right keep=no; decide=unwire first right")
    form(*lines)
    written = entries()
    assert form(*lines, day=WEEK_LATER).out.startswith(f"{MAPLE}: nothing new.")
    assert entries() == written


def test_what_is_asked_is_what_was_to_be_asked_on_that_day() -> None:
    def keys(today: str) -> list[str]:
        session = open_session("garden.db", None, date.fromisoformat(today))
        tree = next(tree for tree in session.trees if tree.label == MAPLE)
        return [
            question.key
            for question in Asked(session, Visits(session, date.fromisoformat(WALK)).visit(tree)).questions
        ]

    before = keys(WALK)
    on(WEEK_LATER, "log", MAPLE, "structural prune", "2015-09-25", "--part", "late cut", "--height", "90")
    on(WEEK_LATER, "part", "change", MAPLE, "Low left", "2015-09-25", "--gone")
    assert keys(WEEK_LATER) == before
    session = open_session("garden.db", None, date.fromisoformat(WEEK_LATER))
    tree = next(tree for tree in session.trees if tree.label == MAPLE)
    assert "late cut width" in {
        q.key for q in Asked(session, Visits(session, session.today).visit(tree)).questions
    }
