"""What needs the grower now, by urgency, a line each: ``due``."""

from __future__ import annotations

from typing import Annotated
from uuid import UUID

import typer

from calendar_core.app.plan.kept_plan import due_items
from calendar_core.app.plan.line_names import groups_of, name_of
from calendar_core.app.plan.told_walks import next_walk
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none
from calendar_core.app.shell.output import ItemRow, heading, items, print_json, say
from calendar_core.app.shell.program import program
from calendar_core.app.shell.session import Session, open_session
from calendar_core.app.warnings.stored_warnings import active_now, returns_now
from calendar_core.app.work.work_data import due_data
from calendar_core.planning.rota.urgency import Urgency, urgent
from calendar_core.wording.plan.due_text import TITLES, nothing_within, warning_line, when
from calendar_core.wording.plan.line_text import facts, heads
from calendar_core.wording.review.walk_text import WalkSpeaker


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(due)


def due(
    days: Annotated[int, typer.Option(min=0, max=60, help="How far ahead.")] = 7,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Tell what needs you now, the most urgent first, with the reason in one line."""
    session = open_session(db, garden, day_or_none(today))
    found = urgent(groups_of(session, due_items(session, days)), session.today, days)
    if as_data:
        print_json(due_data(found))
        return
    say(f"{session.garden.name}, {session.style.weekday(session.today)}.")
    for warning in active_now(session, session.clock.now):
        moved = [session.labels[UUID(tree)] for tree in warning.data.get("moved", ())]
        say(warning_line(session.style, str(warning.data["subject"]), program(), moved))
    for step in returns_now(session, session.clock.now):
        say(warning_line(session.style, step.summary, program()))
    if walk := next_walk(session, days):
        say(WalkSpeaker(session.speaker).told(walk.start, walk.summary))
    if not found:
        say(nothing_within(session.style, days))
    for urgency, title in TITLES.items():
        rows = [_row(session, line) for line in found if line.urgency == urgency]
        if rows:
            heading(session.style.say(title))
            items(rows)


def _row(session: Session, line: Urgency) -> ItemRow:
    some, speaker, labels = line.group.items, session.speaker, session.labels
    return (name_of(some), when(speaker, line)), heads(speaker, some, labels), facts(speaker, some, labels)
