"""The jobs that keep calendars for subscribers, beside those of warnings."""

from __future__ import annotations

from time import monotonic
from typing import TYPE_CHECKING

from alerts.schedule.watch import ScheduledJob
from calendar_core.app.calendar.keeping import keep_calendars, keep_moves

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.app.warnings.jobs import Jobs

RESTS = 10
"""A publication that took long is not repeated within so many times as long: a big garden that is written about all day
would keep a small machine busy (estimate)."""


class CalendarJobs:
    """The jobs of calendars over all gardens of a database."""

    def __init__(self, jobs: Jobs) -> None:
        self._jobs = jobs
        self._rests: dict[UUID, float] = {}

    def lines(self) -> Mapping[str, Sequence[ScheduledJob]]:
        """Return all jobs by line: moves follow the warnings, the other calendars what is planned ahead."""
        lines = self._jobs.lines()
        return {
            **lines,
            "hazards": [*lines["hazards"], ScheduledJob("moves", self.keep_moves)],
            "keeping": [*lines["keeping"], ScheduledJob("calendars", self.keep)],
        }

    def keep_moves(self, now: datetime) -> None:
        """Make the calendars of moves anew where a warning changed."""
        self._jobs.each(now, keep_moves)

    def keep(self, now: datetime) -> None:
        """Publish the gardens of which something new is known."""
        self._jobs.each(now, self._keep)

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
