"""The history of a tree: its log in words, and what was measured of it and its parts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from calendar_core.garden.state import valid_entries
from calendar_core.wording.garden.log_text import LogSpeaker

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Entry, Tree


def history_data(session: Session, tree: Tree) -> dict[str, Any]:
    """Return the entries of a tree and its parts, those that are gone too, with what was measured."""
    state = session.states[tree.id]
    return {
        "tree": tree,
        "entries": entries_of(session, tree),
        "parts": list(state.parts.values()),
        "measures": state.measures,
    }


def entries_of(session: Session, tree: Tree) -> list[Entry]:
    """Return the entries of a tree that hold."""
    return [e for e in valid_entries(session.entries, session.today) if tree.id in e.tree_ids]


def log_speaker(session: Session) -> LogSpeaker:
    """Return who tells the entries of the garden."""
    known = session.knowledge
    return LogSpeaker(session.style, known.operations, known.aftercare, session.spots, session.states)
