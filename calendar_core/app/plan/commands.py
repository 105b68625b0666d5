"""The plan and what is behind it: ``plan``, ``why``, ``stages``, ``changes``."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path
from typing import Annotated
from uuid import UUID

import typer

from calendar_core.app.plan.date_moves import LOOKED_BACK, last_moves, moves_since
from calendar_core.app.plan.explained import explained
from calendar_core.app.plan.line_names import item_named
from calendar_core.app.plan.plan_data import changes_data, plan_data, stages_data
from calendar_core.app.plan.views.plan import header, long_plan_view, plan_view, stages_view
from calendar_core.app.shell.days import ahead
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.files import look_for_chart
from calendar_core.app.shell.named import named_trees, operation_named
from calendar_core.app.shell.options import Db, GardenName, Json, SomeTrees, Today, day_or_none, read_day
from calendar_core.app.shell.output import heading, print_json, rows, say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.planning.items import Item, NotPlanned
from calendar_core.planning.moved_dates import DateMove
from calendar_core.wording.plan.move_text import change_texts, move_sentence, moved_alike, nothing_moved
from calendar_core.wording.plan.plan_text import STAGES, bases, why_title


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(plan)
    app.command()(why)
    app.command()(stages)
    app.command()(changes)


def plan(
    weeks: Annotated[int, typer.Option(min=1, max=60, help="How far ahead.")] = 6,
    everything: Annotated[bool, typer.Option("--all", help="Also what is merely possible.")] = False,
    long: Annotated[
        bool, typer.Option("--long", help="All that is told of each item, and cautions.")
    ] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Print the work that is due, two lines an item at most: when, how sure that is, and the fact that decides it."""
    session = open_session(db, garden, day_or_none(today))
    if as_data:
        print_json(plan_data(session, everything=everything))
        return
    header(session)
    (long_plan_view if long else plan_view)(session, weeks, everything=everything)


def why(
    subject: Annotated[str, typer.Argument(metavar="ITEM|TREE", help="An item's name, or a tree.")],
    operation: Annotated[
        str | None, typer.Argument(metavar="[OPERATION]", help="With a tree: the work asked about.")
    ] = None,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Say why an item is planned, or why work is not planned for a tree."""
    session = open_session(db, garden, day_or_none(today))
    if operation is None:
        found: list[Item | NotPlanned] = [*item_named(session, subject)]
    else:
        key = operation_named(session, operation)
        which = {tree.id for tree in named_trees(session, subject)}
        known: list[Item | NotPlanned] = [*session.plan.items, *session.plan.not_planned]
        found = [line for line in known if line.tree_id in which and line.operation == key]
        if not found:
            raise Refusal(*_not_known(session, which, key))
    if as_data:
        print_json(found)
        return
    with session.store.read() as connection:
        moves = last_moves(session, connection)
    title = ""
    for line in sorted(found, key=lambda i: (session.labels[i.tree_id], i.cycle, isinstance(i, NotPlanned))):
        told = why_title(session.speaker, line, session.labels[line.tree_id])
        if told != title:
            heading(told)
        title = told
        first, *more = explained(session, line)
        say(first, indent=2)
        for text in (*more, *bases(session.speaker, line)):
            say(text, indent=2, hanging=2)
        for move in moves.get(line.id, []) if isinstance(line, Item) else []:
            say(move_sentence(session.speaker, move), indent=2, hanging=2)


def stages(
    trees: SomeTrees = "all",
    chart: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draw the season chart (.svg or .png).")
    ] = None,
    desk: Annotated[
        bool,
        typer.Option("--desk", help="With --chart: a wide sheet, all species and work on one time axis."),
    ] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Print the stage each kind of tree is in, and the likely dates of the coming ones."""
    if desk and chart is None:
        raise Refusal("--desk goes with --chart: name the file to draw, such as --chart garden.svg")
    if chart is not None:
        look_for_chart(chart)
    session = open_session(db, garden, day_or_none(today))
    which = named_trees(session, trees) if session.trees else []
    if chart is not None:
        from calendar_core.app.plan.season_chart import draw_season  # it loads the drawing library

        draw_season(session, which, chart, "desk" if desk else "phone")
    if as_data:
        print_json(stages_data(session, which))
    elif chart is not None:
        say(session.style.say(STAGES["chart"], file=chart))
    else:
        header(session)
        stages_view(session, which)


def changes(
    since: Annotated[
        str | None,
        typer.Option(metavar="DAY", help="From which day on.", show_default="the last two weeks"),
    ] = None,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Print which dates moved since the calendar told them, by how much, and what moved them."""
    session = open_session(db, garden, day_or_none(today))
    first = session.today - LOOKED_BACK if since is None else read_day(since)
    if first > session.today:
        raise Refusal(f"--since {ahead(first, session.today)}")
    moves = moves_since(session, first)
    if as_data:
        print_json(changes_data(session, first))
    elif not moves:
        say(nothing_moved(session.speaker, first))
    for day, some in groupby([] if as_data else moves, key=lambda move: move.moved_on):
        heading(session.style.weekday(day))
        _say_moves(session, moved_alike(session.speaker, some))


def _say_moves(session: Session, moved: list[list[DateMove]]) -> None:
    """Print a paragraph for each set of moves, of two lines at most: the fullest text that fits."""
    for moves in moved:
        texts = change_texts(session.speaker, moves, session.labels)
        fits = (text for text in texts if rows(text, 2, hanging=2) <= 2)
        say(next(fits, texts[-1]), indent=2, hanging=2)


def _not_known(session: Session, which: set[UUID], key: str) -> list[str]:
    """Return why there is nothing to say of an operation for these trees: a line for each."""
    label, out = session.knowledge.operations[key].label.lower(), []
    for tree in session.trees:
        profile = session.knowledge.profiles[tree.species]
        if tree.id in which and key in profile.never:
            out.append(f"{tree.label}: {label} is never done to a {profile.common}: {profile.never[key].why}")
        elif tree.id in which:
            known = f"leafclock species show '{profile.common}'"
            out.append(f"{tree.label}: {label} is not known for a {profile.common}; what is, shows: {known}")
    return out
