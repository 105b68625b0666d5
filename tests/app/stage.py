"""The jobs of a database on a clock of the test, round by round."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import UUID

from alerts.delivery.carrier import Carrier
from alerts.outbox.queue import list_messages, post
from alerts.schedule.watch import Watch
from calendar_core.app.calendar.jobs import CalendarJobs
from calendar_core.app.warnings.jobs import Jobs
from calendar_core.app.warnings.mailing import mail_server
from calendar_core.storage import gardens
from calendar_core.storage.engine import open_store
from tests.alerts.conftest import NOW, a_notice

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from alerts.notices import Message, Result
    from alerts.outbox.queue import Listed

ALL = ("weather", "hazards", "sending", "keeping")


class Stage:
    """The jobs of a database whose clock stands where it is put, and what they said."""

    def __init__(
        self, database: str = "garden.db", deliver: Callable[[Message], Result] | None = None
    ) -> None:
        self.now, self.said = NOW, list[str]()
        self.store = open_store(database)
        file = None if "://" in database else Path(database).resolve()
        by = deliver or Carrier(mail_server(), self._clock)
        jobs = Jobs(self.store, by, self._clock, self.said.append, file)
        self.watch = Watch(self.store, CalendarJobs(jobs).lines(), self._clock, self.said.append)

    def _clock(self) -> datetime:
        return self.now

    def at(self, now: datetime, *lines: str) -> None:
        """Hold a round of some lines."""
        self.now = now
        for name in lines or ALL:
            self.watch.round(name)

    def post(self) -> None:
        """Queue an invented warning, which lapses in a day."""
        number = len(self.messages()) + 1
        notice = a_notice(UUID(int=number), subject=f"warning {number}", expires=self.now + timedelta(days=1))
        with self.store.begin() as connection:
            post(connection, gardens.get_garden(connection).id, notice, self.now)

    def messages(self) -> tuple[Listed, ...]:
        with self.store.read() as connection:
            return list_messages(connection, gardens.get_garden(connection).id)

    def end(self) -> None:
        self.watch._lock.release()
        self.store.close()
