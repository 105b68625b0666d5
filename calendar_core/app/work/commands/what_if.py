"""What would follow from work on a day: ``what-if``. Nothing is stored."""

from __future__ import annotations

from dataclasses import fields
from datetime import date, timedelta
from typing import Annotated
from uuid import UUID

import typer

from calendar_core.app.log.parts import share_named
from calendar_core.app.plan.load import choices
from calendar_core.app.plan.objections import objections
from calendar_core.app.plan.views.load import spacing_view
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.named import named_trees, operation_named
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none, read_day
from calendar_core.app.shell.output import columns, heading, print_json, say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.app.work.what_if import imagined
from calendar_core.garden.model import Tree
from calendar_core.planning.seasons.axis import HORIZON_DAYS
from calendar_core.planning.what_if import Consequences
from calendar_core.wording.plan.what_if_text import (
    WHAT_IF,
    gone_line,
    leaves_hard,
    look_row,
    moved_row,
    new_row,
    title,
)


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("what-if")(what_if)


def what_if(
    tree: Annotated[str, typer.Option("--tree", metavar="TREE", help="A label; several parted by commas.")],
    do: Annotated[str, typer.Option("--do", metavar="OPERATION", help="The work to think through.")],
    on: Annotated[
        str | None, typer.Option("--on", metavar="DATE", help="The day of the work, if not today.")
    ] = None,
    share: Annotated[
        str | None, typer.Option(metavar="PERCENT", help="How much of the foliage it takes, such as 60%.")
    ] = None,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Tell what would follow if you did this: looks, windows that move or close, leaves before frost. Nothing is saved."""
    session = open_session(db, garden, day_or_none(today))
    which, operation = named_trees(session, tree), operation_named(session, do)
    day = read_day(on) if on else session.today
    if not session.today <= day <= session.today + timedelta(days=HORIZON_DAYS):
        raise Refusal(f"--on {day}: right would be a day from today on, within fourteen months")
    taken = share_named(share)
    found = imagined(session, which, operation, day, taken)
    spacing = choices(session, which, operation, day, taken)
    against = {tree.id: objections(session, found.plan, tree, operation, day) for tree in which}
    if as_data:
        told = {field.name: getattr(found, field.name) for field in fields(found) if field.name != "plan"}
        print_json({**told, "against": against, "spacing": spacing})
    else:
        _show(session, which, operation, day, found, against)
        spacing_view(session, which, spacing)
        say()
        say(session.style.say(WHAT_IF["not_saved"]))


def _show(
    session: Session,
    which: list[Tree],
    operation: str,
    day: date,
    found: Consequences,
    against: dict[UUID, list[str]],
) -> None:
    style, label = session.style, session.knowledge.operations[operation].label
    say(title(session.speaker, label, [tree.label for tree in which], day))
    for tree in which:
        for text in against[tree.id]:
            say(style.say(WHAT_IF["against"], tree=tree.label, reason=text), indent=2, hanging=2)
    if found.hard_by is not None and found.chance is not None:
        say(leaves_hard(session.speaker, found.hard_by, found.chance))
    _show_items(session, found)
    if not (found.looks or found.moved or found.gone or found.new):
        say(style.say(WHAT_IF["nothing"]))


def _show_items(session: Session, found: Consequences) -> None:
    style, speaker, labels = session.style, session.speaker, session.labels
    if found.looks:
        heading(style.say(WHAT_IF["looks"]))
        columns([look_row(speaker, item, labels) for item in found.looks])
    if found.moved:
        heading(style.say(WHAT_IF["moved"]))
        columns([moved_row(speaker, move, labels) for move in found.moved])
    if found.gone:
        heading(style.say(WHAT_IF["gone"]))
        for item, absent in found.gone:
            say(gone_line(speaker, item, absent, labels), indent=2, hanging=2)
    if found.new:
        heading(style.say(WHAT_IF["new"]))
        columns([new_row(speaker, item, labels) for item in found.new])
