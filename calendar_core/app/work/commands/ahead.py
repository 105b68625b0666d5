"""Looking ahead: ``repotting`` rota, ``show`` countdown, and the ``sitter``'s sheet for days away."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date, timedelta
from typing import Annotated

import typer

from calendar_core.app.plan.line_names import groups_of
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.named import named_trees
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none, read_day
from calendar_core.app.shell.output import columns, counted, heading, print_json, say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.app.work.ahead import looks_until, show_steps, thirst
from calendar_core.garden.model import Tree
from calendar_core.planning.items import Item
from calendar_core.planning.places.operations import WHERE_TO
from calendar_core.planning.works.countdown import Countdown
from calendar_core.planning.works.turns import Turn, pots_by_year, repotting
from calendar_core.wording.sentences import tree_list, tree_names

LONGEST_AWAY = 120
NO_PLACE = "The garden has no place for that yet: ask its owner where to."  # a helper does not keep the garden's list


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
    if not turns:
        say("No tree of this garden is repotted by years.")
    evened = pots_by_year(turns)
    for year in sorted({turn.year for turn in turns if turn.year is not None}):
        _year(session, year, [turn for turn in turns if turn.year == year], evened)
    unknown = [turn for turn in turns if turn.year is None]
    if unknown:
        heading("Last repotting not written down")
        say(_names(session, unknown), indent=2)
        say("Write it with: leafclock log TREE repot DAY", indent=2)


def _year(session: Session, year: int, turns: list[Turn], evened: Mapping[int, int]) -> None:
    """Say what a year holds, in the order of the year, a line for the trees of a species that share their days."""
    litres = sum(turn.soil_litres for turn in turns)
    heading(
        f"{year}: {counted(len(turns), 'pot')}, {litres:.4g} {'litre' if litres == 1 else 'litres'} of soil"
    )
    rows: dict[tuple[str, str], list[Turn]] = {}
    for turn in sorted(turns, key=lambda one: (one.first or one.about or date.max, one.species)):
        rows.setdefault((_when(session, turn), turn.species), []).append(turn)
    columns(
        [
            (
                when,
                counted(len(of), "pot"),
                f"{sum(turn.soil_litres for turn in of):.4g} l",
                _names(session, of),
            )
            for (when, _), of in rows.items()
        ]
    )
    if wait := [turn for turn in turns if turn.waits]:
        then = f"{counted(evened[year], 'pot')} in {year} and {evened[year + 1]} in {year + 1}"
        say(f"May wait a year, for {then}: {_names(session, wait)}.", indent=2)
        say("Answer theirs 'not this year' when it is asked for.", indent=2)


def _when(session: Session, turn: Turn) -> str:
    if turn.first and turn.until:
        return f"{session.style.short_day(turn.first)} to {session.style.short_day(turn.until)}"
    return "" if turn.about is None else f"about {session.style.short_day(turn.about)}"


def _names(session: Session, turns: Sequence[Turn]) -> str:
    return tree_list([session.labels[turn.tree_id] for turn in turns], most=40)


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
    for one in which:
        alike.setdefault(show_steps(session, one, on), []).append(one)
    if as_data:
        print_json(
            [
                {"tree_ids": [one.id for one in trees], **asdict(step)}
                for steps, trees in alike.items()
                for step in steps
            ]
        )
        return
    for steps, trees in alike.items():
        say(f"Shown on {session.style.day(on, session.today)}: {tree_list([one.label for one in trees])}.")
        if not steps:
            say("Too late for anything but a clean pot and water.")
        columns([_step_row(session, step) for step in steps])
    say("No repotting, hard pruning or defoliation on account of a show: the plan's windows hold.")


def _step_row(session: Session, step: Countdown) -> tuple[str, str]:
    label = session.knowledge.operations[step.operation].label
    shut = "" if step.open is not False else " (not the season for it: see the plan)"
    return session.style.day(step.day, session.today), f"{label}. {step.how}{shut}"


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


def _told(session: Session, item: Item) -> str:
    """Return where a tree goes, if it is moved, and how it is done."""
    told = [reason for reason in item.reasons if reason.code in WHERE_TO]
    where = [NO_PLACE if reason.code == "no_place" else session.speaker.reason(reason) for reason in told]
    return " ".join([*where, session.style.text(item.how.partition(" If it is bad:")[0])])


def _sheet(session: Session, first: date, last: date, looks: list[Item]) -> None:
    style = session.style
    say(
        f"{session.garden.name}: while we are away, {style.day(first, session.today)} to {style.day(last, session.today)}."
    )
    heading("Water")
    say(
        "Look every morning, in heat again in the afternoon; put a finger in the soil, lift small pots. Water until it runs out below; never on frozen soil.",
        indent=2,
    )
    columns([(title, tree_list(labels, most=40)) for title, labels in thirst(session).items() if labels])
    if looks:
        heading("Look, and tell us")
        rows = []
        for group in sorted(groups_of(session, looks), key=lambda group: max(group.start, first)):
            names = tree_list(tree_names(group.items, session.labels))
            rows.append(
                (
                    style.short_day(max(group.start, first)),
                    f"{session.speaker.name(group.items[0])}: {names}. {_told(session, group.items[0])}",
                )
            )
        columns(rows)
    heading("Please do not")
    say(
        "Cut, wire, repot, fertilize or spray: all that waits. In frost or great heat move the trees as the warning says, two people to a heavy pot.",
        indent=2,
    )
