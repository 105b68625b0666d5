"""What is known of a tree: its state, what is planned for it, and its stages."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.planning.items import Item


def whole_tree(session: Session, tree: Tree) -> dict[str, Any]:
    """Return what is shown of a tree: its state, what is planned for it, and its stages."""
    gone = session.gone.get(tree.id)
    stages = session.plan.stages[tree.id] if gone is None else ()
    shown = {"items": planned(session, tree), "stages": stages, "gone": gone}
    return {**tree_data(session, tree), **shown}


def planned(session: Session, tree: Tree) -> list[Item]:
    """Return what is due of a tree or wished for it; nothing of one that is gone."""
    if tree.id in session.gone:
        return []
    return [item for item in session.plan.items if item.tree_id == tree.id and item.status != "possible"]


def tree_data(session: Session, tree: Tree) -> dict[str, Any]:
    """Return a tree with its state."""
    return {"tree": tree, "state": session.states[tree.id]}
