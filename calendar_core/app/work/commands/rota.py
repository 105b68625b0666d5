"""Work that fits the grower's time: ``rota``, ``hours``, ``away``."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Annotated

import typer

from calendar_core.app.plan.line_names import name_of
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none, read_day
from calendar_core.app.shell.output import ItemRow, heading, items, print_json, say, tell
from calendar_core.app.shell.program import program
from calendar_core.app.shell.session import Session, open_session
from calendar_core.app.work.free_time import SUCH_AS
from calendar_core.app.work.rota import Left, Levelled, left_lines, levelled, on_day, rota_data
from calendar_core.app.work.time_entries import write_away, write_week
from calendar_core.app.work.work_data import hours_data
from calendar_core.garden.hours import USUAL_WEEK, absences, begins, weekly
from calendar_core.planning.rota.work_days import RotaLine
from calendar_core.wording.plan.rota_text import (
    ROTA,
    WHY_LEFT,
    away_line,
    consequence,
    day_title,
    free_line,
    left_heads,
    line_facts,
    line_heads,
    time_left,
)
from calendar_core.wording.review.walk_text import WalkSpeaker


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(rota)
    app.command()(hours)
    app.command()(away)


def rota(
    weeks: Annotated[int, typer.Option(min=1, max=26, help="How far ahead.")] = 4,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Print the work that is due day by day, as it fits your free hours, and what does not fit."""
    session = open_session(db, garden, day_or_none(today))
    found = levelled(session, weeks)
    if as_data:
        print_json(rota_data(session, found))
    else:
        rota_view(session, found)


def rota_view(session: Session, found: Levelled) -> None:
    """Print a rota."""
    style = session.style
    say(f"{session.garden.name}, {session.garden.place}. {style.weekday(session.today)}")
    hours_view(session)
    for i, minutes in enumerate(found.free.tolist()):
        day = session.today + timedelta(days=i)
        work = on_day(found, day)
        walks = [walk for walk in found.walks if walk.on == day]
        if work or walks:
            used = sum(line.minutes for line in work) + sum(walk.minutes for walk in walks)
            heading(day_title(style, day, used, minutes))
        for walk in walks:
            say(WalkSpeaker(session.speaker).line(walk), indent=2, hanging=2)
        items([_row(session, line) for line in work], hanging=2, whole=True)
    left = left_lines(found)
    if not found.rota.days and not found.walks:
        say()
        say(style.say(ROTA["none_fits" if left else "none"]))
    for why, title in WHY_LEFT.items():
        _section(session, found, style.say(title), [line for line in left if line.why == why])
    if any(line.why != "can wait" for line in left) and not found.rota.proven:
        say()
        say(style.say(ROTA["not_proven"]))


def _row(session: Session, line: RotaLine) -> ItemRow:
    speaker, tasks, labels = session.speaker, line.tasks, session.labels
    return (), line_heads(speaker, tasks, labels, name_of(line.items)), line_facts(speaker, tasks, labels)


def _section(session: Session, found: Levelled, title: str, left: Sequence[Left]) -> None:
    """Print what has no day for one reason, what is called the same in one line."""
    if left:
        heading(title)
    alike: dict[str, list[Left]] = {}
    for line in left:
        alike.setdefault(session.speaker.name(line.tasks[0].group.items[0]), []).append(line)
    for some in alike.values():
        told = left_heads(session.speaker, [task for line in some for task in line.tasks], session.labels)
        items([((), told, [_consequence(session, found, some)])], hanging=2, whole=True)


def _consequence(session: Session, found: Levelled, alike: Sequence[Left]) -> str:
    """Return what it means that work which is called the same has no day."""
    left = [line.one for line in alike]
    if alike[0].why == "can wait":
        return time_left(session.speaker, left)
    tasks = [task for line in alike for task in line.tasks]
    beside = [found.tasks[other].group.items[0] for left_out in left for other in left_out.beside]
    return consequence(session.speaker, tasks, left, beside)


def hours(
    week: Annotated[
        str | None,
        typer.Argument(
            metavar="[HOURS]",
            help=f"Your free time in a week, such as {SUCH_AS}; other days have none.",
        ),
    ] = None,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Write down the free time you have for the trees, or show it."""
    session = open_session(db, garden, day_or_none(today))
    if week is not None:
        tell(write_week(session, week))
    elif as_data:
        print_json(hours_data(session))
    else:
        hours_view(session)


def hours_view(session: Session) -> None:
    """Print the free time of a week, and the days away that are not over."""
    week = weekly(session.entries, session.today)
    such_as = SUCH_AS.replace("'", '"')
    at = begins(session.entries, session.today)
    say(free_line(session.style, week or USUAL_WEEK, program(), such_as, usual=not week, begins=at))
    for first, last in absences(session.entries, session.today):
        if last >= session.today:
            say(away_line(session.speaker, first, last))


def away(
    first: Annotated[str, typer.Argument(metavar="FROM", help="The first day away.")],
    until: Annotated[str, typer.Argument(metavar="UNTIL", help="The last day away.")],
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Write down days on which you are away."""
    session = open_session(db, garden, day_or_none(today))
    tell(write_away(session, read_day(first), read_day(until)))
