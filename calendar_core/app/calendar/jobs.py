"""The jobs that keep calendars for subscribers, beside those of warnings."""

from __future__ import annotations

from datetime import timedelta
from time import monotonic
from typing import TYPE_CHECKING

from alerts.schedule.watch import ScheduledJob
from calendar_core.app.calendar.keeping import keep_calendars, keep_moves
from calendar_core.app.calendar.places import places_of, send
from calendar_core.app.shell.errors import Refusal

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.app.warnings.jobs import Jobs

RESTS = 10
"""A publication that took long is not repeated within so many times as long: a big garden that is written about all day
would keep a small machine busy (estimate)."""
AGAIN, LONGEST_WAIT = timedelta(minutes=1), timedelta(hours=1)
"""Waits before a place that failed is tried again: twice as long each time, so that a login that is refused over and over
is not locked (estimate)."""


class CalendarJobs:
    """The jobs of calendars over all gardens of a database."""

    def __init__(self, jobs: Jobs) -> None:
        self._jobs = jobs
        self._rests: dict[UUID, float] = {}
        self._waits: dict[UUID, tuple[datetime, timedelta]] = {}

    def lines(self) -> Mapping[str, Sequence[ScheduledJob]]:
        """Return all jobs by line: moves follow the warnings, the other calendars what is planned ahead."""
        lines = self._jobs.lines()
        return {
            **lines,
            "hazards": [*lines["hazards"], ScheduledJob("moves", self.keep_moves)],
            "keeping": [*lines["keeping"], ScheduledJob("calendars", self.keep)],
            "places": [ScheduledJob("places", self.send)],
        }

    def keep_moves(self, now: datetime) -> None:
        """Make the calendars of moves anew where a warning changed."""
        self._jobs.each(now, keep_moves)

    def keep(self, now: datetime) -> None:
        """Publish the gardens of which something new is known."""
        self._jobs.each(now, self._keep)

    def send(self, now: datetime) -> None:
        """Write calendars that changed to the places they are to be at."""
        self._jobs.each(now, lambda session: self._send(session, now))

    def _send(self, session: Session, now: datetime) -> None:
        troubles = []
        for place in places_of(session):
            until, wait = self._waits.get(place.id, (now, AGAIN))
            # A clock that was set back must not make anybody wait for long.
            trouble = place.why_failing if now < until <= now + LONGEST_WAIT else ""
            if not trouble:
                sending = send(session, place, now)
                trouble = sending.trouble
                self._waits.pop(place.id, None)
                if trouble:
                    asked = min(max(wait, timedelta(seconds=sending.after_s)), LONGEST_WAIT)
                    self._waits[place.id] = (now + asked, min(2 * wait, LONGEST_WAIT))
            if trouble:
                troubles.append(f"{place.place}: {trouble}")
        if troubles:
            raise Refusal("; ".join(troubles))

    def _keep(self, session: Session) -> None:
        begins = monotonic()
        if begins < self._rests.get(session.garden.id, begins):
            return
        published = True  # also one that failed has planned
        try:
            published = keep_calendars(session)
        finally:
            ends = monotonic()
            if published:
                self._rests[session.garden.id] = ends + RESTS * (ends - begins)
