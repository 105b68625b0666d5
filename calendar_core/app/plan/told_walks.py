"""The next walk as the calendar tells it: read without planning anything anew."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.storage import log, published
from calendar_core.wording.review.walk_text import WALK_GROUP

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import EntryKind
    from calendar_core.planning.events import PublishedEvent


CHANGES: tuple[EntryKind, ...] = ("review", "walk", "hours", "away", "gone")
"""What is written of these after the calendar was told may have changed its walks."""


def next_walk(session: Session, days: int) -> PublishedEvent | None:
    """Return the next walk within so many days, None where the calendar has none, or tells old ones."""
    with session.store.read() as connection:
        told = published.load(connection, session.garden.id)
        since = [
            entry.recorded_at
            for kind in CHANGES
            for entry in log.entries_of_kind(connection, session.garden.id, kind, session.today)
        ]
    last = session.today + timedelta(days=days)
    walks = [
        event
        for event in told
        if event.group.startswith(f"{WALK_GROUP}|")
        and event.status != "CANCELLED"
        and session.today <= event.start <= last
        and not any(written > event.revised_at for written in since)
    ]
    return min(walks, key=lambda event: event.start, default=None)
