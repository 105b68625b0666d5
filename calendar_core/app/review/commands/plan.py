"""The walks of a round: ``review plan`` and ``review move``."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated

import typer

from calendar_core.app.log.entries import entry, write
from calendar_core.app.plan.walks import WEEKS, ReviewPlan, review_plan, stops
from calendar_core.app.review.walk_data import walk_data
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none, read_day
from calendar_core.app.shell.output import heading, print_json, program, say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.planning.review.walks import Walk
from calendar_core.wording.review.walk_text import WALKS, WalkSpeaker


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("plan")(plan)
    app.command("move")(move)


def plan(
    weeks: Annotated[int, typer.Option(min=1, max=26, help="How far ahead.")] = WEEKS,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Print the walks of the round: which tree is looked at on which day, how closely, and why."""
    session = open_session(db, garden, day_or_none(today))
    found = review_plan(session, max(weeks, WEEKS)).within(session.today + timedelta(weeks=weeks))
    if as_data:
        print_json(walk_data(found))
    else:
        walks_view(session, found, weeks)


def walks_view(session: Session, found: ReviewPlan, weeks: int) -> None:
    """Print walks."""
    style, tells = session.style, WalkSpeaker(session.speaker)
    say(f"{session.garden.name}, {session.garden.place}. {style.weekday(session.today)}")
    walks = found.round.walks
    if not walks and not found.round.left:
        say(tells.ahead(found.round, [stop.window.opens for stop in stops(session)], weeks))
        return
    for head in tells.heads(walks):
        say(head)
    for window in tells.windows(walks):
        say(window, indent=2, hanging=2)
    for walk in walks:
        _walk(tells, walk)
    last = max((walk.on for walk in walks), default=session.today)
    first = min((stop.window.opens for walk in walks for stop in walk.stops), default=session.today)
    skipped = tells.skipped([day for day in found.days if first <= day.day <= last])
    if skipped:
        say()
    for text in skipped:
        say(text)
    if found.round.left:
        heading(style.say(WALKS["left"]))
        for stop in found.round.left:
            say(tells.left(stop), indent=2, hanging=2)
        say()
        say(style.say(WALKS["more_time"], program=program()))


def _walk(tells: WalkSpeaker, walk: Walk) -> None:
    heading(tells.day(walk))
    for title, some in tells.turns(walk.stops):
        say(title, indent=2)
        for stop in some:
            say(tells.stop(stop), indent=4, hanging=2)


def move(
    off: Annotated[str, typer.Argument(metavar="DAY", help="The day of a walk.")],
    to: Annotated[str, typer.Option("--to", metavar="DAY", help="The day in its place.")],
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Move a walk to another day: the others follow."""
    session = open_session(db, garden, day_or_none(today))
    day, on = read_day(off), read_day(to)
    walks = {walk.on: walk for walk in review_plan(session).round.walks}
    if day not in walks:
        raise Refusal(
            f"{day}: no walk is planned then; right would be one of: {', '.join(map(str, walks)) or 'none'}"
        )
    if on < session.today or on == day:
        raise Refusal(f"--to {on}: right would be another day, from {session.today} on")
    opens = max(stop.window.opens for stop in walks[day].stops)
    ends = min(stop.window.closes for stop in walks[day].stops)
    if not opens <= on <= ends:
        raise Refusal(
            f"--to {on}: its trees' round is not open then; right would be a day from {opens} to {ends}"
        )
    if any(first <= on <= last for first, last in session.absences):
        raise Refusal(f"--to {on}: you are away then; right would be a day on which you are there")
    there = walks[on].minutes if on in walks else 0
    data = {"off": day.isoformat(), "on": on.isoformat(), "minutes": walks[day].minutes + there}
    moved = {stop.tree_id for stop in walks[day].stops}
    written = entry(
        session, [tree for tree in session.trees if tree.id in moved], "walk", data, session.today
    )
    write(session, written)
    style, name = session.style, written.id.hex[:8]
    say(style.say(WALKS["moved"], off=style.weekday(day), on=style.weekday(on), entry=name))
