"""What the plan has of trees since something was written of them that it did not have before."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.items import NotPlanned

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from uuid import UUID

    from calendar_core.app.review.answers import Outcome
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.planning.items import Item, Plan


def planned_anew(session: Session, outcomes: Sequence[Outcome]) -> Mapping[UUID, list[Item | NotPlanned]]:
    """Return by tree the items that its plan has now and had not, and why a wish that was written finds no place.

    The plan is made of what is stored; outcomes that wrote nothing new need none, nor does a tree that is gone.
    """
    new = [found for found in outcomes if found.entries and not found.gone]
    here = {tree.id for tree in session.trees}
    trees: list[Tree] = [found.visit.tree for found in new if found.visit.tree.id in here]
    if not trees:
        return {}
    plan = session.part(trees).plan
    return {found.visit.tree.id: _anew(found, plan) for found in new}


def _anew(found: Outcome, plan: Plan) -> list[Item | NotPlanned]:
    tree = found.visit.tree.id
    before = {(item.id, item.status) for item in found.visit.planned}
    items = [item for item in plan.items if item.tree_id == tree and item.status != "possible"]
    wished = {
        (str(logged.data["operation"]), int(logged.data["cycle"]))
        for logged in found.entries
        if logged.kind == "wish" and logged.data
    }
    have = {(item.operation, item.cycle) for item in items}
    missing = {(a.operation, a.cycle): a for a in plan.not_planned if a.tree_id == tree and a.reasons}
    absent = [missing[wish] for wish in sorted(wished - have) if wish in missing]
    return [*(item for item in items if (item.id, item.status) not in before), *absent]
