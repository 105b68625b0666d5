"""The calendar of a helper: what is watered and looked at on each of the days away."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.app.calendar.windows import Told
from calendar_core.app.plan.line_names import groups_of
from calendar_core.app.work.ahead import looks_until, thirst
from calendar_core.planning.items import item_id
from calendar_core.publishing.revise import Change, revise
from calendar_core.storage import published
from calendar_core.wording.plan.away_text import HELPER_GROUP, helper_event

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy import Connection

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.events import ComputedEvent


def helper_told(session: Session, connection: Connection) -> Told:
    """Return what a helper is told of the days away that are written down, as it is now."""
    told = published.load(connection, session.garden.id, "helper")
    computed = [event for first, last in session.absences for event in _days(session, first, last)]
    computed = list({event.uid: event for event in computed}.values())
    shown = {event.uid for event in computed}
    left = [event for event in told if event.uid not in shown and event.end >= session.today]
    revision = revise(
        [event for event in told if event not in left],
        computed,
        now=session.clock.now,
        today=session.today,
        edited=frozenset(shown),
        gone=published.load_gone(connection, session.garden.id, "helper"),
        allow_many=True,
    )
    kept = {event.uid for event in revision.events}
    changes = (*revision.changes, *(Change(event.uid, "removed") for event in left))
    return Told(revision.events, tuple(event.uid for event in told if event.uid not in kept), changes)


def _days(session: Session, first: date, last: date) -> list[ComputedEvent]:
    begins = max(first, session.today)
    days = [begins + timedelta(days=place) for place in range((last - begins).days + 1)]
    looks = groups_of(session, looks_until(session, last)) if days else ()
    return [
        helper_event(
            session.speaker,
            item_id(session.garden.id, HELPER_GROUP, day.isoformat(), day.year),
            day,
            thirst(session),
            [group.items for group in looks if max(group.start, begins) == day],
            session.labels,
        )
        for day in days
    ]
