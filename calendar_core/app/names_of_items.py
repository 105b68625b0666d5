"""Short names of items: the first signs of the id of the event they stand in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.errors import Refusal
from calendar_core.planning.groups import EventGroup, group_items
from calendar_core.storage import published

if TYPE_CHECKING:
    from collections.abc import Iterable
    from uuid import UUID

    from calendar_core.app.session import Session
    from calendar_core.planning.items import Item

LENGTH = 6


def short(uid: UUID) -> str:
    """Return the name under which an item is printed."""
    return uid.hex[:LENGTH]


def groups_of(session: Session, items: Iterable[Item]) -> tuple[EventGroup, ...]:
    """Return items that share an event together, as they were published."""
    with session.store.read() as connection:
        known = published.load_members(connection, session.garden.id)
    return group_items(session.garden.id, items, known)


def item_named(session: Session, text: str) -> tuple[Item, ...]:
    """Return the items of a printed name: all trees of an event, or one tree's item."""
    wanted = text.lower().strip().replace("-", "")
    planned = [item for item in session.plan.items if item.status != "possible"]  # the others have no name
    groups = [g for g in groups_of(session, planned) if g.uid.hex.startswith(wanted)]
    if len(wanted) >= LENGTH and len(groups) == 1:
        return groups[0].items
    single = [item for item in planned if item.id.hex.startswith(wanted)]
    if len(wanted) >= LENGTH and len(single) == 1:
        return (single[0],)
    raise Refusal(f"no item '{text}' in today's plan; right would be a name as printed by: leafclock plan")
