"""The card before a cut, printed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.shell.output import command, heading, say
from calendar_core.planning.aftercare.cut_card import Card

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree


def card_view(session: Session, tree: Tree, card: Card, against: Sequence[str]) -> None:
    """Print a card, with what speaks against the work today."""
    label = session.knowledge.operations[card.operation].label
    say(f"Before you start: {label.lower()}, {tree.label}.")
    lines = [*([("Against it today", list(against))] if against else []), *session.speaker.card(card)]
    last = session.grove.states[tree.id].last(card.operation)
    if last is not None:
        say(f"Last done on {session.style.day(last.on, session.today)}.")
    for title, told in lines:
        heading(title)
        for line in told:
            say(f"- {line}", indent=2, hanging=2)
    if not lines:
        say("Nothing written down or planned speaks against it. Walk round the tree once all the same.")
        command("part", "add", f"'{tree.label}'", "KIND", "NAME")
