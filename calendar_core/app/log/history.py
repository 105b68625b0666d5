"""The history of a tree: its log in words, and what was measured of it and its parts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from calendar_core.garden.state import valid_entries

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Entry, Tree
    from calendar_core.garden.parts import Measure


def history_data(session: Session, tree: Tree) -> dict[str, Any]:
    """Return the entries of a tree and its parts, those that are gone too, with what was measured."""
    state = session.grove.states[tree.id]
    return {
        "tree": tree,
        "entries": _entries(session, tree),
        "parts": list(state.parts.values()),
        "measures": state.measures,
    }


def _entries(session: Session, tree: Tree) -> list[Entry]:
    return [e for e in valid_entries(session.entries, session.today) if tree.id in e.tree_ids]


def _course(session: Session, measures: Sequence[Measure]) -> str:
    size = (lambda v: f"{v:g}") if measures[0].what == "pairs" else session.style.length
    return ", ".join(f"{size(m.value)} ({session.style.day(m.on, session.today)})" for m in measures)
