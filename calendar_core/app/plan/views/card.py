"""The card before a cut, printed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.shell.output import command, heading, say
from calendar_core.planning.aftercare.cut_card import Card
from calendar_core.wording.plan.plan_text import CARDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree


def card_view(session: Session, tree: Tree, card: Card, against: Sequence[str]) -> None:
    """Print a card, with what speaks against the work today."""
    label, style = session.knowledge.operations[card.operation].label, session.style
    say(style.say(CARDS["title"], work=label.lower(), tree=tree.label))
    lines = [
        *([(style.say(CARDS["against"]), list(against))] if against else []),
        *session.speaker.card(card),
    ]
    last = session.grove.states[tree.id].last(card.operation)
    if last is not None:
        say(style.say(CARDS["last"], day=style.day(last.on, session.today)))
    for title, told in lines:
        heading(title)
        for line in told:
            say(f"- {line}", indent=2, hanging=2)
    if not lines:
        say(style.say(CARDS["empty"]))
        command("part", "add", f"'{tree.label}'", "KIND", "NAME")
