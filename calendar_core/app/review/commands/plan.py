"""The walks of a round: ``review plan`` and ``review move``."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated

import typer

from calendar_core.app.plan.walks import WEEKS, ReviewPlan, review_plan, stops
from calendar_core.app.review.walk_data import walk_data
from calendar_core.app.review.walk_moves import move_walk
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none, read_day
from calendar_core.app.shell.output import heading, print_json, say, tell
from calendar_core.app.shell.program import program
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
    tell(move_walk(session, read_day(off), read_day(to)))
