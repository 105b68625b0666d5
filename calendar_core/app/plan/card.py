"""The card before a cut: what to look at first, what must stay, what is undecided, what was regretted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.shell.output import command, heading, say
from calendar_core.planning.aftercare.cut_card import Card, before_cut

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.planning.items import Item


def card_of(session: Session, tree: Tree, operation: str) -> Card:
    """Return the card of a tree before an operation."""
    return before_cut(session.grove.states[tree.id], operation, session.knowledge, session.today)


def cards_of(session: Session, items: Iterable[Item]) -> dict[UUID, Card]:
    """Return the cards of the trees of some items whose work takes what cannot be put back; empty ones are left out."""
    operations, cards = session.knowledge.operations, {}
    for item in items:
        if operations[item.operation].takes is not None:
            card = before_cut(
                session.grove.states[item.tree_id], item.operation, session.knowledge, session.today
            )
            if not card.empty:
                cards[item.tree_id] = card
    return cards


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
