"""What needs the grower now, by urgency, a line each: ``due``."""

from __future__ import annotations

from typing import Annotated
from uuid import UUID

import typer

from calendar_core.app.plan.kept_plan import due_items
from calendar_core.app.plan.line_names import groups_of, name_of
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none
from calendar_core.app.shell.output import columns, heading, print_json, program, say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.app.warnings.stored_warnings import active_now, returns_now
from calendar_core.planning.groups import EventGroup
from calendar_core.planning.late import late_since
from calendar_core.planning.places.operations import FEW, WHERE_TO
from calendar_core.planning.urgency import Urgency, urgent
from calendar_core.wording.feeding_text import strengths
from calendar_core.wording.sentences import tree_list, tree_names
from calendar_core.wording.tree_sets import of_trees, reasons

TITLES = {
    "concern": "Went badly, still open",
    "late": "Late",
    "closing": "Last days",
    "now": "Now",
    "soon": "Coming",
}


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
        print_json(
            [
                {
                    "urgency": one.urgency,
                    "name": name_of(one.group.items),
                    "uid": one.group.uid,
                    "items": one.group.items,
                }
                for one in found
            ]
        )
        return
    say(f"{session.garden.name}, {session.style.weekday(session.today)}.")
    for warning in active_now(session, session.clock.now):
        moved = [session.labels[UUID(tree)] for tree in warning.data.get("moved", ())]
        since = f"; moved since: {tree_list(moved)}" if moved else ""
        say(f"{warning.data['subject']}{since}. See: {program()} warn")
    for step in returns_now(session, session.clock.now):
        say(f"{step.summary}. See: {program()} warn")
    if not found:
        say(f"Nothing needs you within {session.style.counted(days, 'day', 'days')}.")
    for urgency, title in TITLES.items():
        rows = [_row(session, one) for one in found if one.urgency == urgency]
        if rows:
            heading(title)
            columns(rows)


def _row(session: Session, one: Urgency) -> tuple[str, str, str]:
    group, speaker = one.group, session.speaker
    trees = tree_list(tree_names(group.items, session.labels), most=4)
    return (
        name_of(group.items),
        _when(session, one),
        f"{speaker.name(group.items[0])}: {trees}. {_why(session, group)}",
    )


def _when(session: Session, one: Urgency) -> str:
    """Return the last safe day, or since when something is late."""
    since = late_since(one.group.items)
    if one.urgency == "late" and since is not None:
        return f"since {session.style.short_day(since, session.today)}"
    last = session.style.short_day(one.group.end, session.today)
    return f"by {last}" if one.group.end >= session.today else f"safe until {last}"


def _why(session: Session, group: EventGroup) -> str:
    """Return the one reason that tells most: what it follows, or what opened the window."""
    speaker, items = session.speaker, group.items
    said = reasons(items, speaker)
    concern = [one for one in said if one.reason.code == "concern"]
    of_all = [one for one in said if len(one.items) == len(items)]
    first = next(iter((*concern, *of_all, *said)), None)
    told = [first] if first is not None else []
    told += [one for one in said if one.reason.code in (*FEW, *WHERE_TO, "feeds_for") and one is not first]
    given = strengths(speaker, items, session.labels)
    why = [of_trees(speaker.reason(one.reason), one.items, items, session.labels) for one in told]
    return " ".join([*why, *([given] if given else [])])
