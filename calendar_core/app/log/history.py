"""The history of a tree: its log in words, and what was measured of it and its parts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from calendar_core.garden.state import valid_entries
from calendar_core.storage import log
from calendar_core.wording.garden.log_text import LogSpeaker

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable
    from datetime import date
    from uuid import UUID

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


def logged(session: Session, trees: Iterable[Tree] | None = None) -> list[Entry]:
    """Return the entries that hold, of some trees or of all and the garden."""
    found = valid_entries(session.entries, session.today)
    if trees is None:
        return list(found)
    wanted = {tree.id for tree in trees}
    return [entry for entry in found if not wanted.isdisjoint(entry.tree_ids)]


def joinings(session: Session, trees: Collection[UUID]) -> frozenset[UUID]:
    """Return the entries with which some trees joined the garden: without them they have no aim and stand nowhere."""
    first: dict[UUID, UUID] = {}
    for logged in valid_entries(session.entries, session.today):
        if logged.kind == "state":
            for tree in set(trees).intersection(logged.tree_ids):
                first.setdefault(tree, logged.id)
    return frozenset(first.values())


def joined_on(session: Session, tree: Tree) -> date | None:
    """Return the day a tree joined the garden, also where that is after today; None where no entry tells it."""
    with session.store.read() as connection:
        known = log.entries(connection, session.garden.id, trees=[tree.id])
    return min((e.happened for e in known if e.kind == "state" and tree.id in e.tree_ids), default=None)


def log_speaker(session: Session) -> LogSpeaker:
    """Return who tells the entries of the garden."""
    known = session.knowledge
    return LogSpeaker(session.style, known.operations, known.aftercare, session.spots, session.states)
