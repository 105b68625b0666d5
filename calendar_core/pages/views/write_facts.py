"""The other forms of the page for writing down: stages seen, measurements, parts, wishes, and what changes of a tree."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import Response

from calendar_core.app.garden.tree_entries import change_trees, part_with
from calendar_core.app.log.entries import happened
from calendar_core.app.log.part_entries import PartWords, add_part, change_part, measure
from calendar_core.app.log.parts import part_named
from calendar_core.app.log.sightings import write_sighting
from calendar_core.app.log.work_entries import write_wish
from calendar_core.app.shell.errors import Refusal
from calendar_core.pages.shell.access import Worker
from calendar_core.pages.shell.entered import Entered, Sent
from calendar_core.pages.views.write_down import written

if TYPE_CHECKING:
    from calendar_core.app.shell.receipt import Receipt
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree

router = APIRouter()


def _only(session: Session) -> Tree:
    if len(session.trees) != 1:
        raise Refusal("a part is of one tree; right would be one of them at a time")
    return session.trees[0]


@router.post("/write/seen", include_in_schema=False)
def seen(visit: Worker, entered: Sent) -> Response:
    """Write down a stage that was seen, or that it has not come."""
    return written(visit, "seen", entered, _seen)


def _seen(session: Session, entered: Entered) -> Receipt:
    return write_sighting(
        session,
        session.trees,
        entered.one("stage"),
        happened(session, entered.one("day")),
        not_yet=bool(entered.one("not_yet")),
        yes=bool(entered.one("yes")),
        entry_id=entered.entry_id,
    )


@router.post("/write/measured", include_in_schema=False)
def measured(visit: Worker, entered: Sent) -> Response:
    """Write down what was measured of a tree or a part of it."""
    return written(visit, "measured", entered, _measured)


def _measured(session: Session, entered: Entered) -> Receipt:
    return measure(
        session,
        _only(session),
        [part for part in entered.every("part") if part],
        entered.pairs("measure", "value"),
        happened(session, entered.one("day")),
        yes=bool(entered.one("yes")),
        entry_id=entered.entry_id,
    )


@router.post("/write/part", include_in_schema=False)
def part(visit: Worker, entered: Sent) -> Response:
    """Write down a part that is followed from now on, or what is to become of one."""
    return written(visit, "part", entered, _part)


def _part(session: Session, entered: Entered) -> Receipt:
    tree, on = _only(session), happened(session, entered.one("day"))
    words = PartWords(
        height_mm=entered.one("height") or None,
        side=entered.one("side"),
        directive=entered.one("directive") or None,
        decide=entered.one("decide") or None,
    )
    if old := entered.one("part"):
        known = part_named(session, tree, old)
        name, gone = entered.one("name") or None, bool(entered.one("gone"))
        return change_part(
            session, tree, known, on, words, new_name=name, gone=gone, entry_id=entered.entry_id
        )
    return add_part(session, tree, entered.one("kind"), entered.one("name"), on, words, entered.entry_id)


@router.post("/write/wished", include_in_schema=False)
def wished(visit: Worker, entered: Sent) -> Response:
    """Ask for work that is possible but not due."""
    return written(visit, "wished", entered, _wished)


def _wished(session: Session, entered: Entered) -> Receipt:
    operation = entered.one("operation")
    if operation not in session.knowledge.operations:
        raise Refusal("no work is chosen; right would be one of those of the list")
    return write_wish(
        session, session.trees, operation, anyway=bool(entered.one("anyway")), entry_id=entered.entry_id
    )


@router.post("/write/changed", include_in_schema=False)
def changed(visit: Worker, entered: Sent) -> Response:
    """Write down what of some trees is otherwise: where they stand, aim, vigour, size, pot."""
    return written(visit, "changed", entered, _changed)


def _changed(session: Session, entered: Entered) -> Receipt:
    try:
        return change_trees(
            session,
            session.trees,
            happened(session, entered.one("day")),
            spot=entered.one("spot") or None,
            aim=entered.one("aim") or None,
            vigour=entered.one("vigour") or None,
            size=entered.one("size") or None,
            pot_litres=entered.one("pot_litres") or None,
            pot=entered.one("pot") or None,
            entry_id=entered.entry_id,
        )
    except Refusal as refusal:
        if refusal.lines[0].startswith("nothing to change"):
            raise Refusal("nothing is changed; right would be a new value in one of the fields") from None
        raise


@router.post("/write/gone", include_in_schema=False)
def gone(visit: Worker, entered: Sent) -> Response:
    """Write down that trees are gone."""
    return written(visit, "gone", entered, _gone)


def _gone(session: Session, entered: Entered) -> Receipt:
    on = happened(session, entered.one("day"))
    return part_with(session, session.trees, on, entered.one("why"), entered.one("note"), entered.entry_id)
