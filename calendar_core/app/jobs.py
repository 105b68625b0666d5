"""The jobs of ``watch``: fetch weather, judge hazards, tell the evening's digest, send, plan ahead, back up."""

from __future__ import annotations

import os
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4
from zoneinfo import ZoneInfo

from alerts.delivery.hook import beat
from alerts.notices import Sent
from alerts.outbox.sending import send_due
from alerts.schedule.slots import daily, hourly
from alerts.schedule.watch import Job
from calendar_core.app.clock import clock
from calendar_core.app.errors import Refusal
from calendar_core.app.fetching import fetch_forecast, fetch_hours, fetch_years, missing_years, with_height
from calendar_core.app.kept_plan import plan_missing
from calendar_core.app.services import Answers, services, source_set
from calendar_core.app.session import Session
from calendar_core.app.warning import judge_garden, tell_evening, tell_silence
from calendar_core.storage import gardens
from calendar_core.storage.copies import back_up
from calendar_core.storage.errors import StoreError
from calendar_core.weather.sources.http import ServiceError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from datetime import datetime

    from alerts.delivery.carrier import Carrier
    from calendar_core.garden.model import Garden
    from calendar_core.storage.engine import Store

NIGHT, EARLY, LATE = time(0, 20), time(3, 40), time(5, 10)
"""When the day is planned, the copy made and yesterday's weather fetched, at the garden (estimate: the last is there)."""
COPIES_KEPT = 14  # daily copies of the database (estimate: two weeks in which to notice a mistake)


@dataclass(frozen=True)
class Jobs:
    """The jobs over all gardens of a database; ``say`` is told in one line what a garden's job could not do."""

    store: Store
    carrier: Carrier
    now: Callable[[], datetime]
    say: Callable[[str], None]
    database: Path | None = None

    def lines(self) -> Mapping[str, Sequence[Job]]:
        """Return the jobs by line: what waits for a network must not hold up the others."""
        weather = [] if source_set() == "off" else [
            Job("weather", self.fetch, lambda now: hourly(now, 1), timedelta(hours=1)),
            Job("past days", self.fetch_past, self._daily(LATE), timedelta(hours=12)),
        ]  # fmt: skip
        judging = [
            Job("hazards", self.judge, lambda now: hourly(now, 1), timedelta(hours=1)),
            Job("evening", self.tell_evening, self._evening, timedelta(hours=3)),
            Job("silence", self.tell_silence),
        ]
        keeping = [Job("plan", self.plan, self._daily(NIGHT), timedelta(hours=23))]
        if self.database is not None:
            keeping.append(Job("copy", self.copy, self._daily(EARLY), timedelta(hours=23)))
        return {
            "weather and hazards": [*weather, *judging],
            "sending": [Job("send", self.send)],
            "keeping": keeping,
        }

    # -- jobs -----------------------------------------------------------------------------------------

    def fetch(self, _now: datetime) -> None:
        """Fetch the newest forecast of each garden; what fails is said, and tried again at the next hour."""
        asked = services(Answers(self.store), self.now)
        for session in self._sessions():
            with self._going_on(session.garden):
                garden = with_height(self.store, session.garden, asked.history, session.today)
                fetch_forecast(self.store, garden, asked.ahead, self.now())
            with self._going_on(session.garden):
                fetch_hours(self.store, self._garden(session.garden), asked.ahead, self.now())

    def fetch_past(self, _now: datetime) -> None:
        """Fetch the days that have passed since."""
        asked = services(Answers(self.store), self.now)
        for session in self._sessions():
            years = missing_years(self.store, session.garden, session.today, 0)
            with self._going_on(session.garden):
                list(fetch_years(self.store, session.garden, asked.history, session.today, years))

    def judge(self, now: datetime) -> None:
        """Judge the hazards of each garden."""
        for session in self._sessions():
            judge_garden(session, now)
        address = os.environ.get("LEAFCLOCK_HEARTBEAT", "")
        if address:
            result = beat(address, now, private_ok=True)
            if not isinstance(result, Sent):
                raise Refusal(f"the heartbeat was not taken: {result.why}")

    def tell_evening(self, now: datetime) -> None:
        """Queue the digest of each garden whose evening it is."""
        for session in self._sessions():
            at, zone = session.knowledge.warnings.digest.at, ZoneInfo(session.garden.zone)
            if now - daily(now, at, zone) <= timedelta(hours=3):
                tell_evening(session, now)

    def tell_silence(self, now: datetime) -> None:
        """Tell the gardens of which nothing was judged for long."""
        for session in self._sessions():
            tell_silence(session, now)

    def send(self, _now: datetime) -> None:
        """Send what is due."""
        for message, result in send_due(self.store, self.carrier, f"{os.getpid()} {uuid4().hex}", self.now):
            if not isinstance(result, Sent):
                self.say(f"not sent to {message.channel.person or message.channel.kind}: {result.why}")

    def plan(self, _now: datetime) -> None:
        """Plan the new day, so that what is due is there at once."""
        for session in self._sessions():
            plan_missing(session, quiet=True)

    def copy(self, now: datetime) -> None:
        """Copy the database beside itself, and let go of the oldest copies."""
        if self.database is None:
            return
        folder = self.database.parent / f"{self.database.stem} copies"
        back_up(self.database, folder / f"{now:%Y-%m-%d}.db", replace=True)
        for old in sorted(folder.glob("????-??-??.db"))[:-COPIES_KEPT]:
            with suppress(OSError):
                old.unlink()

    # -- what they share ------------------------------------------------------------------------------

    def _sessions(self) -> list[Session]:
        with self.store.read() as connection:
            found = gardens.list_gardens(connection)
        return [Session(self.store, garden, clock(garden.zone)) for garden in found]

    def _garden(self, garden: Garden) -> Garden:
        with self.store.read() as connection:
            return gardens.get_garden(connection, garden.name)

    @contextmanager
    def _going_on(self, garden: Garden) -> Iterator[None]:
        """Say what a service or the database refused, and go on with the next garden."""
        try:
            yield
        except (ServiceError, StoreError, Refusal) as error:
            self.say(f"{garden.name}: {error}")

    def _daily(self, at: time) -> Callable[[datetime], datetime]:
        """Return the newest moment at which any garden's clock showed a time."""
        return lambda now: max(
            (daily(now, at, ZoneInfo(session.garden.zone)) for session in self._sessions()),
            default=hourly(now, 24),
        )

    def _evening(self, now: datetime) -> datetime:
        moments = [
            daily(now, session.knowledge.warnings.digest.at, ZoneInfo(session.garden.zone))
            for session in self._sessions()
        ]
        return max(moments, default=hourly(now, 24))
