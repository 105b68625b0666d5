"""The card before a cut: what to look at first, what must stay, what is undecided, what was regretted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.aftercare.cut_card import Card, before_cut

if TYPE_CHECKING:
    from collections.abc import Iterable
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
