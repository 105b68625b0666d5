"""What is typed of a sheet is what the sheet asks: its keys, its words, its head."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from calendar_core.app.plan.walks import stops
from calendar_core.app.review.asked import Asked, number
from calendar_core.app.review.form_lines import Form
from calendar_core.app.review.sheet import garden_code
from calendar_core.app.review.visits import Visits
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.session import open_session
from calendar_core.wording.review.question_text import answer_words
from calendar_core.wording.review.sheet_text import sheet_mark
from tests.app.conftest import run

if TYPE_CHECKING:
    from pathlib import Path

    from calendar_core.app.shell.session import Session

WALK = date(2015, 9, 20)


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the demo garden's database, with its three seasons of log; it is only read."""
    out = tmp_path_factory.mktemp("bench")
    assert run("demo", "--out", str(out), "--today", "2015-09-18").status == 0
    return out / "garden.db"


@pytest.fixture
def session(bench: Path) -> Session:
    return open_session(str(bench), None, WALK)


def test_every_key_and_every_word_of_a_sheet_is_understood(session: Session) -> None:
    visits, answered = Visits(session, WALK), 0
    trees = {tree.id: tree for tree in session.trees}
    for stop in (stop for stop in stops(session) if stop.window.opens <= WALK):
        asked = Asked(session, visits.visit(trees[stop.tree_id]))
        assert (asked.visit.round, asked.visit.cycle, asked.visit.depth) == (
            stop.window.round, stop.window.cycle, stop.depth,
        )  # fmt: skip
        for question in asked.questions:
            assert asked.question(question.key.upper().replace(" ", "  ")).key == question.key
            words = answer_words(session.style, session.speaker, question)
            values = [asked.value(question, word) for word in words]
            assert len(set(values)) == len(words)
            answered += len(words)
    assert answered > 100


def test_the_head_of_a_sheet_is_the_head_of_its_form(session: Session) -> None:
    head = sheet_mark(garden_code(session), date(2015, 9, 18))
    form = Form(session, [head, "minutes: 75 min", "Maple 5: vigour=2"], WALK, yes=False)
    assert (form.head.walked, form.head.minutes, form.faults) == (date(2015, 9, 18), 75.0, [])


@pytest.mark.parametrize(
    ("typed", "unit", "found"),
    [("12", "mm", 12), ("12 mm", "mm", 12), ("12,5mm", "mm", 12.5), (" 3 ", "", 3)],
)
def test_a_number_is_read_with_its_unit_and_with_a_comma(typed: str, unit: str, found: float) -> None:
    assert number(typed, 100, unit) == found


@pytest.mark.parametrize("typed", ["", "inf", "-1", "101", "1e9", "12 cm", "1 2"])
def test_what_is_no_number_within_reach_is_refused(typed: str) -> None:
    with pytest.raises(Refusal, match="right would be a number from 0 to 100 mm"):
        number(typed, 100, "mm")
