"""What is written leaves a receipt: sent again it stands once, and by the receipt it is taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import UUID

import pytest

from calendar_core.app.answers.answering import answer
from calendar_core.app.garden.tree_entries import change_trees
from calendar_core.app.log.part_entries import PartWords, add_part, measure
from calendar_core.app.log.sightings import write_sighting
from calendar_core.app.log.voids import void, void_named
from calendar_core.app.log.work_entries import write_wish, write_work
from calendar_core.app.plan.line_names import due_groups, name_of
from calendar_core.app.shell.errors import DoubtRefusal, Refusal
from calendar_core.app.shell.options import read_day
from calendar_core.app.shell.session import Session, open_session
from calendar_core.garden.state import valid_entries
from tests.app.conftest import DAY

if TYPE_CHECKING:
    from collections.abc import Callable

    from calendar_core.app.shell.receipt import Receipt
    from calendar_core.garden.model import Entry, Tree
    from tests.app.conftest import Program

SENT = UUID("5f0c7a52-7e0e-4b8e-9d40-3a3a5d1d2f10")  # invented
TODAY = read_day(DAY)


def _session() -> Session:
    return open_session("garden.db", None, TODAY)


def _maple(session: Session) -> Tree:
    return next(tree for tree in session.trees if tree.label == "Japanese maple 1")


def _holding() -> list[Entry]:
    session = _session()
    return list(valid_entries(session.entries, TODAY))


def _cut(session: Session) -> Receipt:
    return write_work(
        session,
        [_maple(session)],
        "structural prune",
        TODAY,
        details={"note": "", "regret": "", "share": "40%"},
        parts=["low left"],
        values=["width=17"],
        place={"height_mm": "120", "side": "left"},
        entry_id=SENT,
    )


def _part(session: Session) -> Receipt:
    return add_part(session, _maple(session), "wound", "old cut", TODAY, PartWords(side="back"), SENT)


WRITERS: dict[str, Callable[[Session], Receipt]] = {
    "work": _cut,
    "wish": lambda session: write_wish(session, [_maple(session)], "repot", entry_id=SENT),
    "part": _part,
    "measure": lambda session: measure(session, _maple(session), [], ["height=400"], TODAY, entry_id=SENT),
    "seen": lambda session: write_sighting(
        session, [_maple(session)], "closed", TODAY, yes=True, entry_id=SENT
    ),
}


@pytest.mark.parametrize("write", WRITERS.values(), ids=WRITERS)
def test_what_is_sent_twice_stands_once_and_is_taken_back_as_one(
    garden: Program, write: Callable[[Session], Receipt]
) -> None:
    before = _holding()
    receipt = write(_session())
    assert receipt.entries[0] == SENT
    assert {entry.id for entry in _holding()} == {*(entry.id for entry in before), *receipt.entries}
    again = write(_session())
    assert (again.entries, again.told) == ((), ("This was written down before; it stands once.",))
    assert len(_holding()) == len(before) + len(receipt.entries)
    told = void(_session(), receipt.entries).told
    assert sum(line.startswith("Void: ") for line in told) == len(receipt.entries)
    assert _holding() == before
    assert write(_session()).entries == ()  # taken back, it stays so, however often it is sent
    assert _holding() == before
    with pytest.raises(Refusal, match="nothing of this stands any more"):
        void(_session(), receipt.entries)


def test_an_answer_that_is_sent_twice_stands_once(garden: Program) -> None:
    session = _session()
    name = name_of(due_groups(session)[0].items)
    receipt = answer(session, name, "Not this year", entry_id=SENT)
    assert receipt.entries[0] == SENT
    standing = _holding()
    assert answer(_session(), name, "Not this year", entry_id=SENT).entries == ()
    assert _holding() == standing
    void(_session(), receipt.entries)
    assert name in {name_of(group.items) for group in due_groups(_session())}


def test_a_doubt_is_told_without_the_option_that_answers_it(garden: Program) -> None:
    session = _session()
    pine = next(tree for tree in session.trees if tree.species == "pinus-thunbergii")
    details = {"note": "", "regret": "", "share": None}
    never = next(iter(session.knowledge.profiles[pine.species].never))
    with pytest.raises(DoubtRefusal) as refused:
        write_work(session, [pine], never, TODAY, details=details, place={"height_mm": None, "side": ""})
    assert "--yes" not in " ".join(refused.value.doubts)
    assert refused.value.lines[0].startswith(refused.value.doubts[0])
    assert refused.value.lines[0].endswith("--yes")
    told = write_work(
        session, [pine], never, TODAY, details=details, place={"height_mm": None, "side": ""}, yes=True
    )
    assert len(told.entries) == 1


def test_a_void_names_all_trees_of_its_entry(garden: Program) -> None:
    session = _session()
    some = session.trees[:3]
    receipt = change_trees(session, some, TODAY, vigour=4)
    told = void(_session(), receipt.entries).told
    assert f": {some[0].label}, {some[1].label} and {some[2].label}, " in told[0]


def test_the_entry_with_which_a_tree_joined_is_not_taken_back(garden: Program) -> None:
    session, before = _session(), _holding()
    maple, written = _maple(session), write_wish(session, [_maple(session)], "repot")
    joined = next(entry.id for entry in before if entry.kind == "state" and maple.id in entry.tree_ids)
    standing = _holding()
    with pytest.raises(Refusal, match=f"{maple.label} joined the garden; right would be"):
        void(_session(), [*written.entries, joined])
    with pytest.raises(Refusal, match="joined the garden"):
        void_named(_session(), joined.hex)
    assert _holding() == standing
