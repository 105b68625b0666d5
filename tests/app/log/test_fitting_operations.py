"""Which work is offered first to be written down of trees: what is due, what is in season, then all others."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.log.fitting_operations import ELSEWHERE, fitting_operations
from calendar_core.app.shell.options import read_day
from calendar_core.app.shell.session import Session, open_session
from tests.app.conftest import DAY

if TYPE_CHECKING:
    from calendar_core.garden.model import Tree
    from tests.app.conftest import Program


def _of(label: str, *, alone: bool = True) -> tuple[Session, list[Tree]]:
    session = open_session("garden.db", None, read_day(DAY))
    which = [tree for tree in session.trees if tree.label == label]
    return (session.part(which) if alone else session), which


def test_every_operation_is_offered_once(garden: Program) -> None:
    session, trees = _of("Japanese black pine 1")
    fit = fitting_operations(session, trees)
    offered = [*fit.due, *fit.open, *fit.others]
    assert sorted(offered) == sorted(session.knowledge.operations.keys() - ELSEWHERE)


def test_what_is_never_done_to_a_kind_comes_last(garden: Program) -> None:
    session, trees = _of("Japanese black pine 1")
    never = session.knowledge.profiles[trees[0].species].never.keys() - ELSEWHERE
    others = fitting_operations(session, trees).others
    assert never
    assert set(others[-len(never) :]) == never


def test_what_is_due_stands_first_and_so_does_what_was_decided_of_a_part(garden: Program) -> None:
    session, trees = _of("Japanese maple 1")
    due = {
        item.operation
        for item in session.plan.items
        if item.status != "possible"
        and not item.follows
        and item.opens.early <= session.today <= item.closes.late
    }
    assert set(fitting_operations(session, trees).due) == due
    assert garden("part", "add", "Japanese maple 1", "wire", "coil", "--decide", "unwire").status == 0
    assert "unwire" in fitting_operations(*_of("Japanese maple 1")).due


def test_a_tree_alone_and_in_its_garden_are_offered_the_same(garden: Program) -> None:
    assert fitting_operations(*_of("Satsuki azalea 1")) == fitting_operations(
        *_of("Satsuki azalea 1", alone=False)
    )
