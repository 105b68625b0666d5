"""The jobs of ``watch``: fetch weather, judge hazards, tell the evening's digest, send, plan ahead, back up."""

from __future__ import annotations

import os
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4
from zoneinfo import ZoneInfo

from alerts.delivery.hook import beat
from alerts.notices import Sent
from alerts.outbox.sending import send_due
from alerts.schedule.runs import last_runs
from alerts.schedule.slots import daily, hourly
from alerts.schedule.watch import ScheduledJob
from calendar_core.app.plan.kept_plan import plan_missing
from calendar_core.app.shell.clock import Clock
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.session import Session, knowledge
from calendar_core.app.warnings.channel_notices import tell_cut_off, tell_gone, tell_missed
from calendar_core.app.warnings.mailing import heartbeat, leads_to
from calendar_core.app.warnings.reach import nobody_reached
from calendar_core.app.warnings.warning import (
    judge_garden,
    judged_since,
    tell_evening,
    tell_no_forecast,
    tell_silence,
)
from calendar_core.app.weather.fetching import (
    fetch_forecast,
    fetch_hours,
    fetch_years,
    missing_years,
    with_height,
)
from calendar_core.app.weather.services import Answers, services, source_set
from calendar_core.storage import gardens
from calendar_core.storage.copies import copy_of_day
from calendar_core.storage.errors import StoreError
from calendar_core.weather.sources.http import ServiceError
from calendar_core.wording.style import Style
from calendar_core.wording.warnings.judged_text import WATCHING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from datetime import datetime

    from alerts.notices import Message, Result
    from calendar_core.garden.model import Garden
    from calendar_core.storage.engine import Store

EARLY, LATE = time(3, 40), time(5, 10)
"""When the copy is made and yesterday's weather fetched, at the garden (estimate: the last is there)."""
JUDGED_H = 6  # as often as services make new forecasts; oftener brings more changes and no danger sooner (warning_season)
WEATHER = "weather"
AWAITED = timedelta(minutes=10)
"""How long judging waits for the forecast of the hour; a service is given a minute (estimate: some gardens' minutes)."""
EVENING = timedelta(hours=3)  # for so long a digest is still worth telling (estimate)
COPIES_KEPT = 14  # daily copies of the database (estimate: two weeks in which to notice a mistake)


@dataclass(frozen=True)
class Jobs:
    """The jobs over all gardens of a database; ``say`` is told each trouble once, in one line, and when it is over."""

    store: Store
    carrier: Callable[[Message], Result]
    now: Callable[[], datetime]
    say: Callable[[str], None]
    database: Path | None = None
    _troubles: dict[str, str] = field(default_factory=dict, init=False, repr=False, compare=False)
    _begun: datetime = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_begun", self.now())  # the class is frozen

    def lines(self) -> Mapping[str, Sequence[ScheduledJob]]:
        """Return the jobs by line: what waits for a network, or takes long, must not hold up the others."""
        evening = self._daily(knowledge(frozenset()).warnings.digest.at)
        weather = [] if source_set() == "off" else [
            ScheduledJob(WEATHER, self.fetch, hourly, timedelta(hours=1), then="hazards"),
            ScheduledJob("past days", self.fetch_past, self._daily(LATE), timedelta(hours=12)),
        ]  # fmt: skip
        judging = [
            ScheduledJob(
                "hazards",
                self.judge,
                lambda now: hourly(now, JUDGED_H),
                timedelta(hours=JUDGED_H),
                self.has_asked,
            ),
            ScheduledJob("evening", self.tell_evening, evening, EVENING, self.has_asked),
            ScheduledJob("silence", self.tell_silence),
        ]
        keeping = [ScheduledJob("plan", self.plan)]
        if self.database is not None:
            keeping.append(ScheduledJob("copy", self.copy, self._daily(EARLY), timedelta(hours=23)))
        return {
            "weather": weather,
            "hazards": judging,
            "sending": [ScheduledJob("send", self.send)],
            "keeping": keeping,
        }

    def has_asked(self, now: datetime) -> bool:
        """Tell whether this hour's forecast was asked for, with or without success, or has been waited for long enough."""
        if source_set() == "off" or now - max(self._begun, hourly(now)) >= AWAITED:
            return True
        with self.store.read() as connection:
            runs = {run.job: run for run in last_runs(connection)}
        asked = runs.get(WEATHER)
        return (
            asked is not None
            and asked.slot >= hourly(now)
            and (asked.done_at is not None or bool(asked.error))
        )

    # -- jobs -----------------------------------------------------------------------------------------

    def fetch(self, now: datetime) -> None:
        """Fetch the newest forecast of each garden; what fails is said, and tried again at the next hour."""
        asked = services(Answers(self.store), self.now)
        for session in self._sessions(now):
            with self._going_on(_about("days", session)):
                garden = with_height(self.store, session.garden, asked.past, session.today)
                fetch_forecast(self.store, garden, asked.ahead, self.now())
            with self._going_on(_about("hours", session)):
                fetch_hours(self.store, self._garden(session.garden), asked.ahead, self.now())

    def fetch_past(self, now: datetime) -> None:
        """Fetch the days that have passed since."""
        asked = services(Answers(self.store), self.now)
        for session in self._sessions(now):
            years = missing_years(self.store, session.garden, session.today, 0)
            with self._going_on(_about("past", session)):
                list(fetch_years(self.store, session.garden, asked.past, session.today, years))

    def judge(self, now: datetime) -> None:
        """Judge the hazards of each garden, and let an outside monitor know.

        A garden without a fresh forecast makes this be tried again until there is one; the others have had their turn.
        """
        slot = hourly(now, JUDGED_H)

        def judge(session: Session) -> None:
            if judged_since(session, slot, now):
                return
            verdict = judge_garden(session, now)
            if verdict.judged is None and verdict.of_other_days is None:
                tell_no_forecast(session, now)
            if verdict.judged is None or verdict.stale:
                raise Refusal(
                    "no fresh forecast hour by hour to judge by; it is judged as soon as there is one"
                )

        self.each(now, judge)
        self._beat(now)

    def tell_evening(self, now: datetime) -> None:
        """Judge each garden whose evening it is, and queue its digest."""

        def tell(session: Session) -> None:
            at, zone = session.knowledge.warnings.digest.at, ZoneInfo(session.garden.zone)
            if now - daily(now, at, zone) <= EVENING:
                tell_evening(session, now)

        self.each(now, tell)

    def tell_silence(self, now: datetime) -> None:
        """Tell the gardens of which nothing was judged for long."""
        self.each(now, lambda session: tell_silence(session, now))

    def send(self, now: datetime) -> None:
        """Send what is due, then queue what was missed, and that a channel fails for long or is gone."""
        for message, result in send_due(self.store, self.carrier, f"{os.getpid()} {uuid4().hex}", self.now):
            trouble = result.trouble if isinstance(result, Sent) else result.why
            self._tell(Style().say(WATCHING["sending"], channel=leads_to(message.channel)), trouble)
        self.each(now, lambda session: _told_of_channels(session, now))

    def plan(self, now: datetime) -> None:
        """Plan what a new day, new weather or an entry asks for, so that what is due is there at once."""
        self.each(now, lambda session: plan_missing(session, quiet=True))

    def copy(self, now: datetime) -> None:
        """Copy the database beside itself, and let go of the oldest copies."""
        if self.database is not None:
            copy_of_day(self.database, now.date(), COPIES_KEPT)

    # -- what they share ------------------------------------------------------------------------------

    def _beat(self, now: datetime) -> None:
        """Let an outside monitor know that warnings are judged and reach people. Raises Refusal where they do not."""
        address, words = heartbeat(), Style().say
        if not address:
            return
        unreached = [each.garden.name for each in self._sessions(now) if nobody_reached(each, now)]
        if unreached:
            raise Refusal(words(WATCHING["nobody"], gardens=", ".join(unreached)))
        result = beat(address, now, private_ok=True)
        if not isinstance(result, Sent):
            raise Refusal(words(WATCHING["heartbeat"], why=result.why))

    def _gardens(self) -> tuple[Garden, ...]:
        with self.store.read() as connection:
            return gardens.list_gardens(connection)

    def _sessions(self, now: datetime) -> list[Session]:
        return [
            Session(self.store, garden, Clock(now.astimezone(ZoneInfo(garden.zone)).date(), now))
            for garden in self._gardens()
        ]

    def _garden(self, garden: Garden) -> Garden:
        with self.store.read() as connection:
            return gardens.get_garden(connection, garden.name)

    def each(self, now: datetime, do: Callable[[Session], object]) -> None:
        """Do something for each garden, whatever befalls the others; raises Refusal with what befell."""
        faults = []
        for session in self._sessions(now):
            try:
                do(session)
            except Exception as error:  # noqa: BLE001 - one garden's fault must not leave the others unwarned
                faults.append(f"{session.garden.name}: {str(error) or type(error).__name__}")
        if faults:
            raise Refusal("; ".join(faults))

    @contextmanager
    def _going_on(self, about: str) -> Iterator[None]:
        """Say what a service or the database refused, and go on with the next garden."""
        trouble = ""
        try:
            yield
        except (ServiceError, StoreError, Refusal) as error:
            trouble = str(error)
        self._tell(about, trouble)

    def _tell(self, about: str, trouble: str) -> None:
        """Say a trouble once, and when it is over."""
        before = self._troubles.get(about, "")
        self._troubles[about] = trouble
        if trouble != before:
            words = Style().say
            self.say(
                words(WATCHING["trouble"], about=about, why=trouble)
                if trouble
                else words(WATCHING["over"], about=about)
            )

    def _daily(self, at: time) -> Callable[[datetime], datetime]:
        """Return the newest moment at which any garden's clock showed a time."""
        return lambda now: max(
            (daily(now, at, ZoneInfo(garden.zone)) for garden in self._gardens()), default=hourly(now, 24)
        )


def _told_of_channels(session: Session, now: datetime) -> int:
    """Queue what was missed, and which channels fail or are gone. Return the number of messages."""
    return tell_missed(session, now) + tell_cut_off(session, now) + tell_gone(session, now)


def _about(what: str, session: Session) -> str:
    """Return what a trouble of a garden is about."""
    return session.style.say(WATCHING[what], garden=session.garden.name)
