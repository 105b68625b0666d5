"""Writing down what a walk found: ``review enter`` and ``review resume``."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Annotated

import typer

from calendar_core.app.log.entries import happened
from calendar_core.app.log.lines import lines_of
from calendar_core.app.review.asked import Asked
from calendar_core.app.review.commands.terminal import Terminal
from calendar_core.app.review.looks import outcome_words, write_form, write_look
from calendar_core.app.review.next_trees import left, next_walk, nothing_to_look_at
from calendar_core.app.review.visits import Visits
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.named import one_tree
from calendar_core.app.shell.options import Db, GardenName, Today, day_or_none
from calendar_core.app.shell.output import say
from calendar_core.app.shell.program import program
from calendar_core.app.shell.session import Session, open_session
from calendar_core.garden.model import Tree
from calendar_core.wording.review.enter_text import ASKING

WalkDay = Annotated[
    str | None, typer.Option("--day", metavar="DAY", help="The day of the walk, if not today.")
]
Yes = Annotated[bool, typer.Option("--yes", help="The numbers are right, however odd they look.")]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("enter")(enter)
    app.command("resume")(resume)


def enter(
    tree: Annotated[
        str | None,
        typer.Argument(metavar="TREE", help="One tree; without it those of the next walk in order."),
    ] = None,
    day: WalkDay = None,
    lines: Annotated[
        str | None,
        typer.Option(
            metavar="FILE|-",
            help="A filled form, a line a tree: 'Maple 2: vigour=4; drainage=25'. Above them, of the whole walk: 'minutes: 70'.",
        ),
    ] = None,
    yes: Yes = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Write down what a walk found, tree by tree; each is stored before the next is asked.

    Of a form what is right is kept, and what is not is told by tree and question.
    """
    session = open_session(db, garden, day_or_none(today))
    on = happened(session, day)
    if lines is not None and tree is not None:
        raise Refusal(f"'{tree}' beside --lines: right would be one of them")
    if lines is not None:
        _form(session, lines_of(lines), None if day is None else on, yes=yes)
        return
    which = next_walk(session, on) if tree is None else [one_tree(session, tree)]
    _ask(session, which, on, only_open=False, yes=yes)


def resume(
    day: WalkDay = None, yes: Yes = False, db: Db = None, garden: GardenName = None, today: Today = None
) -> None:
    """Go on where entering was broken off: with the first tree of the round not looked at, and what is open of it."""
    session = open_session(db, garden, day_or_none(today))
    on = happened(session, day)
    _ask(session, left(session, on), on, only_open=True, yes=yes)


def _form(session: Session, texts: Sequence[str], on: date | None, *, yes: bool) -> None:
    taken = write_form(session, texts, on, yes=yes)
    _tell(taken.receipt.told)
    if taken.faults:
        raise Refusal(*taken.faults)


def _ask(session: Session, trees: Sequence[Tree], on: date, *, only_open: bool, yes: bool) -> None:
    style = session.style
    if not trees:
        for sentence in nothing_to_look_at(session, on, only_open=only_open):
            say(sentence)
        return
    visits, terminal = Visits(session, on), Terminal(session, yes=yes)
    say(style.say(ASKING["how"]))
    for tree in trees:
        asked = Asked(session, visits.visit(tree))
        answers, broken_off = terminal.look(asked, asked.open if only_open else asked.questions)
        found = write_look(session, visits, asked, answers)
        if found.entries or not broken_off:
            _tell(outcome_words(session, [found]))
        if broken_off:
            say(style.say(ASKING["broken_off"], program=program()))
            return


def _tell(paragraphs: Sequence[str]) -> None:
    for paragraph in paragraphs:
        say(paragraph, hanging=2)
