"""``review next``: the heavy work of the coming year, and what to have ready for it."""

from __future__ import annotations

import typer

from calendar_core.app.review.next_year import YearAhead, year_ahead
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none
from calendar_core.app.shell.output import heading, print_json, say
from calendar_core.app.shell.program import program
from calendar_core.app.shell.session import Session, open_session
from calendar_core.planning.review.next_year import HeavyJob
from calendar_core.wording.review.next_text import NEXT, SUPPLIES, NextSpeaker


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("next")(next_year)


def next_year(
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Print next year's heavy job of each tree, in a week with time for it, what rests and why, and what to buy."""
    session = open_session(db, garden, day_or_none(today))
    found = year_ahead(session)
    if as_data:
        print_json({"today": session.today, "trees": session.labels, **next_data(found)})
    else:
        _view(session, found)


def next_data(found: YearAhead) -> dict[str, object]:
    """Return the coming year as data."""
    year = found.year
    return {
        "proven": year.proven,
        "usual_hours": found.usual_hours,
        "jobs": [{"week": placed.week, **_job(placed.job)} for placed in year.jobs],
        "no_time": [_job(job) for job in year.no_time],
        "put_off": year.put_off,
        "spared": year.spared,
        "soil": year.soil,
        "supplies": found.supplies,
    }


def _job(job: HeavyJob) -> dict[str, object]:
    return {
        "tree_id": job.tree_id,
        "operation": job.operation,
        "items": [item.id for item in job.items],
        "parts": [item.part for item in job.items if item.part],
        "minutes": job.minutes,
        "first": job.first,
        "last": job.last,
        "safe": job.safe,
        "beside": job.beside,
    }


def _view(session: Session, found: YearAhead) -> None:
    style, year, tells = session.style, found.year, NextSpeaker(session.speaker, session.labels)
    say(f"{session.garden.name}, {session.garden.place}. {style.weekday(session.today)}")
    if head := tells.head(year):
        say(head)
    if not year.proven:
        say(style.say(NEXT["unproven"]))
    if found.usual_hours and (year.jobs or year.no_time):
        say(style.say(NEXT["usual"], program=program()))
    for title, lines in tells.weeks(year):
        _block(title, lines)
    _block(style.say(NEXT["no_time"]), [tells.no_time(job) for job in year.no_time])
    if year.no_time:
        say(style.say(NEXT["more_time"], program=program()), indent=2)
    _block(style.say(NEXT["put_off"]), tells.put_off(year))
    _block(style.say(NEXT["spared"]), tells.spared(year))
    _block(style.say(NEXT["soil"]), tells.soil(year))
    if session.trees:
        _block(style.say(SUPPLIES["title"]), tells.supplies(found.supplies))
    cautions = [style.text(session.knowledge.cautions[key].text) for key in found.supplies.cautions]
    _block(style.say(SUPPLIES["rests"]), tells.rests(found.supplies, session.knowledge))
    if cautions:
        _block(style.say(SUPPLIES["cautions"]), cautions)


def _block(title: str, lines: list[str]) -> None:
    if lines:
        heading(title)
    for text in lines:
        say(text, indent=2, hanging=2)
