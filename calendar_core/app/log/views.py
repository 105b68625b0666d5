"""The history of a tree, printed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.log.entry_text import told
from calendar_core.app.log.history import _course, _entries
from calendar_core.app.shell.output import columns, heading, say
from calendar_core.garden.parts import MEASURES

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree


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
