"""Answering an item of the plan: ``answer``."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

import typer

from calendar_core.app.answers import answering
from calendar_core.app.answers.answering import Particulars
from calendar_core.app.answers.relocation import WhereToRefusal
from calendar_core.app.shell.options import Db, GardenName, Today, day_or_none
from calendar_core.app.shell.output import say, tell
from calendar_core.app.shell.session import open_session
from calendar_core.knowledge.words import THERMAL_PROFILES


def register(app: typer.Typer) -> None:
    """Add the command of this module."""
    app.command()(answer)


def answer(
    item: Annotated[str, typer.Argument(metavar="ITEM", help="Its name as printed by plan or warn.")],
    verb: Annotated[
        str,
        typer.Argument(
            metavar="VERB", help="Its own verb (such as Pruned), 'in a week', or 'not this year'."
        ),
    ],
    badly: Annotated[
        bool, typer.Option("--badly", help="Of a look: it does not go well; it stays open until it does.")
    ] = False,
    values: Annotated[
        list[str] | None,
        typer.Option("--measure", metavar="WHAT=MM", help="Of a look: what you measured; may come again."),
    ] = None,
    to: Annotated[
        str | None,
        typer.Option(
            metavar="SPOT", help="Of a move: where to, if not to the spot it names; of a place: its name."
        ),
    ] = None,
    profile: Annotated[
        str | None,
        typer.Option(help=f"Of a spot that is to be made: one of {', '.join(THERMAL_PROFILES)}."),
    ] = None,
    note: Annotated[str, typer.Option(help="Anything worth remembering.")] = "",
    yes: Annotated[bool, typer.Option("--yes", help="The number is right, however odd it looks.")] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Answer an item of the plan: done, put off, or not this year; or a move that a warning asks for: Moved."""
    session = open_session(db, garden, day_or_none(today))
    more = Particulars(badly, values or (), to, profile, note, yes)
    try:
        receipt = answering.answer(session, item, verb, more)
    except WhereToRefusal as refusal:
        to, profile = _typed(refusal)
        receipt = answering.answer(session, item, verb, replace(more, to=to, profile=profile))
    tell(receipt)


def _typed(refusal: WhereToRefusal) -> tuple[str, str | None]:
    """Return the spot that the grower types, and what it is where it is new; who cannot be asked is told what to type."""
    for sentence in refusal.asked.said:
        say(sentence)
    try:
        text = input(refusal.asked.prompt).strip()
    except EOFError:
        say()
        raise refusal from None
    if refusal.asked.spots:
        return text, None
    name, _, kind = text.partition(",")
    return name.strip(), kind.strip()
