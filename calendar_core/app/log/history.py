"""The history of a tree: its log in words, and what was measured of it and its parts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from calendar_core.app.log.entry_text import told
from calendar_core.app.shell.output import columns, heading, say
from calendar_core.garden.parts import MEASURES
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


def history_view(session: Session, tree: Tree) -> None:
    """Print what was done, year by year, then the course of every measurement."""
    entries, state = _entries(session, tree), session.grove.states[tree.id]
    say(f"{tree.label}, {session.knowledge.profiles[tree.species].common}.")
    if not entries:
        say("Nothing is written down yet.")
    for year in sorted({entry.happened.year for entry in entries}):
        heading(f"{year}")
        rows = [
            (session.style.short_day(e.happened), told(session, e, tree))
            for e in entries
            if e.happened.year == year
        ]
        columns([row for row in rows if row[1]])
    courses = [("", state.measures), *((part.name, part.measures) for part in state.parts.values())]
    measured = [
        (name, what, _course(session, [m for m in measures if m.what == what]))
        for name, measures in courses
        for what in MEASURES
        if any(m.what == what for m in measures)
    ]
    if measured:
        heading("Measured")
        columns([(name or "tree", what, course) for name, what, course in measured])


def _entries(session: Session, tree: Tree) -> list[Entry]:
    return [e for e in valid_entries(session.entries, session.today) if tree.id in e.tree_ids]


def _course(session: Session, measures: Sequence[Measure]) -> str:
    size = (lambda v: f"{v:g}") if measures[0].what == "pairs" else session.style.length
    return ", ".join(f"{size(m.value)} ({session.style.day(m.on, session.today)})" for m in measures)
