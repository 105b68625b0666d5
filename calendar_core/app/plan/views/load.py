"""What speaks against work on a day and the order that loses least, printed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING
from uuid import UUID

from calendar_core.app.plan.load import spacings
from calendar_core.app.shell.output import columns, heading, say
from calendar_core.planning.load.order import OrderChoice
from calendar_core.wording.plan.plan_text import SPACING
from calendar_core.wording.plan.spacing_text import cost_line, load_line, placed_row

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree


def spacing_view(session: Session, trees: Sequence[Tree], found: Mapping[UUID, OrderChoice]) -> None:
    """Print for each tree what it bears, what speaks against the choice, and the order that loses least."""
    style = session.style
    for tree, spacing in spacings(session, [tree for tree in trees if tree.id in found]):
        choice = found[tree.id]
        if not choice.against and len(choice.best.placed) == 1:
            continue
        heading(style.say(SPACING["title"], tree=tree.label))
        say(load_line(session.speaker, spacing.load(session.today)), indent=2, hanging=2)
        for reason in choice.against:
            against = style.say(SPACING["against"], reason=session.speaker.reason(reason))
            say(against, indent=2, hanging=2)
        say(style.say(SPACING["order"]), indent=2)
        columns([placed_row(session.speaker, placed) for placed in choice.best.placed], indent=4)
        say(cost_line(session.speaker, choice), indent=2, hanging=2)
