"""``calendar``: revise what subscribers were told, and write the iCalendar file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none
from calendar_core.app.shell.output import print_json, say
from calendar_core.app.shell.session import open_session
from calendar_core.wording.plan.calendar_text import CALENDAR, written


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(calendar)


def calendar(
    file: Annotated[
        Path,
        typer.Argument(
            metavar="FILE.ics", help="Where to write; put it where your phone can subscribe to it."
        ),
    ],
    many: Annotated[
        bool, typer.Option("--many", help="Publish even if a large part of the events vanishes.")
    ] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Publish the plan and write it as a calendar file.

    Dates move for subscribers only when it matters: small shifts of the forecast change nothing.
    """
    from calendar_core.app.calendar.publishing import publish  # the icalendar library is slow to load

    session = open_session(db, garden, day_or_none(today))
    revision = publish(session, to=file, allow_many=many)
    if as_data:
        print_json(revision)
        return
    say(written(session.style, file, len(revision.events), revision.counts()))
    say(session.style.say(CALENDAR["reminders"]))
