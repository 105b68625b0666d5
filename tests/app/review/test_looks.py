"""A look as a page sends it: every answer checked before anything is stored, what is wrong told by its question."""

from __future__ import annotations

import pytest

from calendar_core.app.log.voids import void
from calendar_core.app.review.asked import Asked
from calendar_core.app.review.looks import LookDoubt, LookRefusal, Typed, answers_of, receipt_of, write_look
from calendar_core.app.review.next_trees import left, next_walk
from calendar_core.app.review.visits import Visits
from calendar_core.app.shell.options import read_day
from calendar_core.app.shell.session import Session, open_session
from tests.app.review.entered import MAPLE, WALK, entries, walked, with_parts

pytestmark = pytest.mark.usefixtures("walked")
__all__ = ["walked", "with_parts"]


def _asked() -> tuple[Session, Visits, Asked]:
    session = open_session("garden.db", None, read_day(WALK))
    visits = Visits(session, session.today)
    (maple,) = [tree for tree in session.trees if tree.label == MAPLE]
    return session, visits, Asked(session, visits.visit(maple))


def test_a_look_is_stored_once_and_taken_back_by_its_receipt() -> None:
    session, visits, asked = _asked()
    answers = answers_of(
        asked, Typed({"vigour": "4", "drainage": "75", "aphids": ""}, minutes="9"), yes=False
    )
    found = write_look(session, visits, asked, answers)
    receipt = receipt_of(session, [found])
    assert MAPLE in receipt.told[0]
    assert {entry["id"] for entry in entries()} == {str(one) for one in receipt.entries}
    again, later, still = _asked()
    assert write_look(again, later, still, answers).entries == ()
    void(again, receipt.entries)
    assert entries() == []


def test_a_corrected_look_is_not_taken_back_as_one_for_the_earlier_answers_would_be_lost() -> None:
    session, visits, asked = _asked()
    write_look(session, visits, asked, answers_of(asked, Typed({"vigour": "4", "drainage": "75"}), yes=False))
    session, visits, asked = _asked()
    more = write_look(session, visits, asked, answers_of(asked, Typed({"aphids": "none"}), yes=False))
    assert receipt_of(session, [more]).entries
    session, visits, asked = _asked()
    found = write_look(session, visits, asked, answers_of(asked, Typed({"vigour": "2"}), yes=False))
    assert any(logged.voids for logged in found.entries)
    assert receipt_of(session, [found]).entries == ()


def test_every_fault_is_told_by_its_question_and_nothing_is_stored() -> None:
    _, _, asked = _asked()
    typed = Typed({"vigour": "9", "drainage": "75", "no such": "1"}, ["fly away"], minutes="0", note="a\x00b")
    with pytest.raises(LookRefusal) as refused:
        answers_of(asked, typed, yes=False)
    assert set(refused.value.faults) == {"vigour", "no such", "decide", "minutes", "note"}
    assert entries() == []


def test_a_measurement_that_may_be_an_error_is_asked_about_and_believed_when_confirmed() -> None:
    _, _, asked = _asked()
    typed = Typed({"back stub width": "20"})
    with pytest.raises(LookDoubt) as refused:
        answers_of(asked, typed, yes=False)
    assert set(refused.value.odd) == {"back stub width"}
    assert "--yes" not in "".join(refused.value.doubts)
    assert answers_of(asked, typed, yes=True).values == {"back stub width": 20.0}


def test_what_is_looked_at_is_no_longer_left() -> None:
    session, visits, asked = _asked()
    assert asked.visit.tree in next_walk(session, session.today)
    words = {question.key: "" for question in asked.questions} | {"vigour": "3"}
    few = {q.key: "good" for q in asked.questions if q.answer == "good or bad"}
    none = {q.key: "none" for q in asked.questions if q.answer == "none or found"}
    write_look(session, visits, asked, answers_of(asked, Typed(words | few | none), yes=False))
    assert asked.visit.tree not in left(_asked()[0], session.today)
