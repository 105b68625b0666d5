"""The plan as data."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.plan.date_moves import moves_since

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree


def plan_data(session: Session, *, everything: bool = False) -> dict[str, object]:
    """Return the plan, with the trees' labels by id; with ``everything`` also what is merely possible."""
    plan = session.plan
    items = [item for item in plan.items if everything or item.status != "possible"]
    labels = {tree.id: tree.label for tree in session.trees}
    return {"today": session.today, "weather": plan.weather, "trees": labels, "items": items}


def stages_data(session: Session, trees: Iterable[Tree]) -> dict[str, object]:
    """Return the stages of trees by label."""
    return {tree.label: session.plan.stages[tree.id] for tree in trees}


def changes_data(session: Session, since: date) -> dict[str, object]:
    """Return the dates that moved since a day."""
    moves = moves_since(session, since)
    labels = {move.tree_id: session.labels[move.tree_id] for move in moves}
    return {"today": session.today, "since": since, "trees": labels, "moves": moves}
