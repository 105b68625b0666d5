"""The next walk as the calendar tells it: read without planning anything anew."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.storage import published
from calendar_core.wording.review.walk_text import WALK_GROUP

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session
    from calendar_core.planning.events import PublishedEvent


def next_walk(session: Session, days: int) -> PublishedEvent | None:
    """Return the next walk within so many days, None where the calendar has none."""
    with session.store.read() as connection:
        told = published.load(connection, session.garden.id)
    last = session.today + timedelta(days=days)
    walks = [
        event
        for event in told
        if event.group.startswith(f"{WALK_GROUP}|")
        and event.status != "CANCELLED"
        and session.today <= event.start <= last
    ]
    return min(walks, key=lambda event: event.start, default=None)
