"""Looking ahead: ``repotting`` rota, ``show`` countdown, and the ``sitter``'s sheet for days away."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from datetime import date, timedelta
from typing import Annotated

import typer

from calendar_core.app.plan.line_names import groups_of
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.named import named_trees
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none, read_day
from calendar_core.app.shell.output import columns, heading, print_json, say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.app.work.ahead import looks_until, show_steps, thirst
from calendar_core.garden.model import Tree
from calendar_core.planning.items import Item
from calendar_core.planning.works.countdown import Countdown
from calendar_core.planning.works.turns import Turn, pots_by_year, repotting
from calendar_core.wording.plan.away_text import (
    REPOTTING,
    SHEET,
    SHOW,
    look_line,
    may_wait,
    sheet_title,
    show_title,
    step_row,
    turn_names,
    turn_row,
    turn_when,
    year_title,
)
from calendar_core.wording.sentences import tree_list
from calendar_core.wording.tree_sets import MOST_NAMES

LONGEST_AWAY = 120


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("repotting")(repotting_rota)
    app.command()(show)
    app.command()(sitter)


def repotting_rota(
    db: Db = None, garden: GardenName = None, today: Today = None, as_data: Json = False
) -> None:
    """Print which trees are to be repotted in which year and when in it, and which of them may wait."""
    session = open_session(db, garden, day_or_none(today))
    turns = repotting(session.grove, session.knowledge, session.plan)
    if as_data:
        print_json(turns)
        return
    style = session.style
    if not turns:
        say(style.say(REPOTTING["none"]))
    evened = pots_by_year(turns)
    for year in sorted({turn.year for turn in turns if turn.year is not None}):
        _year(session, year, [turn for turn in turns if turn.year == year], evened)
    unknown = [turn for turn in turns if turn.year is None]
    if unknown:
        heading(style.say(REPOTTING["unknown"]))
        say(turn_names(unknown, session.labels), indent=2)
        say(style.say(REPOTTING["write"]), indent=2)


def _year(session: Session, year: int, turns: list[Turn], evened: Mapping[int, int]) -> None:
    """Say what a year holds, in the order of the year, a line for the trees of a species that share their days."""
    style, labels = session.style, session.labels
    heading(year_title(style, year, turns))
    rows: dict[tuple[str, str], list[Turn]] = {}
    for turn in sorted(turns, key=lambda turn: (turn.first or turn.about or date.max, turn.species)):
        rows.setdefault((turn_when(style, turn), turn.species), []).append(turn)
    columns([turn_row(style, when, of, labels) for (when, _), of in rows.items()])
    if wait := [turn for turn in turns if turn.waits]:
        say(may_wait(style, year, evened, turn_names(wait, labels)), indent=2)
        say(style.say(REPOTTING["answer"]), indent=2)


def show(
    tree: Annotated[str, typer.Argument(metavar="TREE", help="The tree that is shown.")],
    day: Annotated[str, typer.Argument(metavar="DATE", help="The day it is shown.")],
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Count the work back from the day a tree is shown."""
    session = open_session(db, garden, day_or_none(today))
    which, on = named_trees(session, tree), read_day(day)
    if on <= session.today:
        raise Refusal(f"{on} is not ahead; right would be the day of the show")
    alike: dict[tuple[Countdown, ...], list[Tree]] = {}
    for shown in which:
        alike.setdefault(show_steps(session, shown, on), []).append(shown)
    if as_data:
        print_json(
            [
                {"tree_ids": [shown.id for shown in trees], **asdict(step)}
                for steps, trees in alike.items()
                for step in steps
            ]
        )
        return
    for steps, trees in alike.items():
        say(show_title(session.speaker, on, [shown.label for shown in trees]))
        if not steps:
            say(session.style.say(SHOW["too_late"]))
        columns([step_row(session.speaker, step) for step in steps])
    say(session.style.say(SHOW["no_more"]))


def sitter(
    start: Annotated[str, typer.Argument(metavar="FROM", help="The first day away.")],
    end: Annotated[str, typer.Argument(metavar="UNTIL", help="The last day away.")],
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Print a sheet for whoever looks after the trees while you are away."""
    session = open_session(db, garden, day_or_none(today))
    first, last = read_day(start), read_day(end)
    if not session.today <= first <= last <= first + timedelta(days=LONGEST_AWAY):
        raise Refusal(
            f"{first} to {last}: right would be days from today on, at most {LONGEST_AWAY}, the first before the last"
        )
    looks = looks_until(session, last)
    if as_data:
        print_json({"from": first, "until": last, "thirst": thirst(session), "looks": looks})
        return
    _sheet(session, first, last, looks)


def _sheet(session: Session, first: date, last: date, looks: list[Item]) -> None:
    style = session.style
    say(sheet_title(session.speaker, session.garden.name, first, last))
    heading(style.say(SHEET["water"]))
    say(style.say(SHEET["watering"]), indent=2)
    wants = thirst(session).items()
    columns([(style.say(title), tree_list(labels, most=MOST_NAMES)) for title, labels in wants if labels])
    if looks:
        heading(style.say(SHEET["looks"]))
        begins = [(max(group.start, first), group.items) for group in groups_of(session, looks)]
        columns(
            [
                (style.short_day(day), look_line(session.speaker, items, session.labels))
                for day, items in sorted(begins, key=lambda begin: begin[0])
            ]
        )
    heading(style.say(SHEET["not"]))
    say(style.say(SHEET["waits"]), indent=2)
