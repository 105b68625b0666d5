"""The history of a tree, printed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.log.history import entries_of, log_speaker
from calendar_core.app.shell.output import columns, heading, say
from calendar_core.garden.parts import MEASURES
from calendar_core.wording.garden.log_text import HISTORY, WRITTEN, course

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree


def history_view(session: Session, tree: Tree) -> None:
    """Print what was done, year by year, then the course of every measurement."""
    entries, state, style = entries_of(session, tree), session.states[tree.id], session.style
    speaker = log_speaker(session)
    say(style.say(HISTORY["title"], tree=tree.label, species=session.knowledge.profiles[tree.species].common))
    if not entries:
        say(style.say(WRITTEN["nothing"]))
    for year in sorted({entry.happened.year for entry in entries}):
        heading(f"{year}")
        rows = [
            (style.short_day(e.happened), speaker.told(e, tree.id))
            for e in entries
            if e.happened.year == year
        ]
        columns([row for row in rows if row[1]])
    courses = [("", state.measures), *((part.name, part.measures) for part in state.parts.values())]
    measured = [
        (name, what, course(style, [m for m in measures if m.what == what], session.today))
        for name, measures in courses
        for what in MEASURES
        if any(m.what == what for m in measures)
    ]
    if measured:
        heading(style.say(HISTORY["measured"]))
        columns([(name or style.say(HISTORY["tree"]), what, course) for name, what, course in measured])
