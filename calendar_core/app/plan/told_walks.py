"""The next walk as the calendar tells it: read without planning anything anew."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.garden.state import valid_entries
from calendar_core.storage import log, published
from calendar_core.wording.review.walk_text import WALK_GROUP

if TYPE_CHECKING:
    from collections.abc import Sequence
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Entry
    from calendar_core.planning.events import PublishedEvent


def next_walk(session: Session, days: int) -> PublishedEvent | None:
    """Return the next walk within so many days of which a tree is to be looked at, None where the calendar has none."""
    with session.store.read() as connection:
        told = published.load(connection, session.garden.id)
        found = [
            log.entries_of_kind(connection, session.garden.id, kind, session.today)
            for kind in ("review", "walk")
        ]
    reviews, moves = (valid_entries(entries, session.today) for entries in found)
    looked, last = _looked_at(reviews), session.today + timedelta(days=days)
    here = {tree.id for tree in session.trees}
    walks = [
        event
        for event in told
        if event.group.startswith(WALK_GROUP)
        and event.status != "CANCELLED"
        and session.today <= event.start <= last
        and here & set(event.tree_ids) - looked.get((event.group, event.cycle), set())
        and not any(move.data["off"] == event.start.isoformat() for move in moves if _after(move, event))
    ]
    return min(walks, key=lambda event: event.start, default=None)


def _looked_at(reviews: Sequence[Entry]) -> dict[tuple[str, int], set[UUID]]:
    """Return the trees that were looked at, by the group of their round's walks and its cycle."""
    out: dict[tuple[str, int], set[UUID]] = {}
    for review in (review for review in reviews if not review.data.get("broken_off")):
        key = f"{WALK_GROUP}{review.data['round']}", int(review.data["cycle"])
        out.setdefault(key, set()).update(review.tree_ids)
    return out


def _after(move: Entry, event: PublishedEvent) -> bool:
    return move.recorded_at > event.revised_at
