"""Running jobs for as long as the process lives; what goes wrong is said and the rest goes on."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from apscheduler.schedulers.background import BackgroundScheduler
from apscheduler.triggers.interval import IntervalTrigger

from alerts.schedule import runs
from alerts.schedule.lock import ProcessLock
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from threading import Event

    from calendar_core.storage.engine import Store

ROUND_S = 60
"""Seconds between two looks at what is due (estimate)."""
STANDBY = "another process runs the jobs of this database: standing by to take over"
LEADING = "this process runs the jobs of this database"


@dataclass(frozen=True, slots=True)
class ScheduledJob:
    """Something to be done: ``run`` is given the present moment.

    ``slot`` tells the newest moment it was due; it is done once for each, and again until it succeeds, as
    long as the slot is no older than ``grace``. Without ``slot`` it is done in every round. While ``ready`` says no
    it waits. ``then`` is the line that need not wait for its next round once this is done.
    """

    name: str
    run: Callable[[datetime], object]
    slot: Callable[[datetime], datetime] | None = None
    grace: timedelta = timedelta(hours=1)
    ready: Callable[[datetime], bool] = lambda _now: True
    then: str = ""


class Watch:
    """Runs lines of jobs side by side, the jobs of a line one after the other.

    Parameters
    ----------
    store : Store
        The database, whose lock decides whether this process runs the jobs.
    lines : mapping of str to sequence of Job
        So that fetching the weather does not hold up sending.
    now : callable
        Gives the present moment, aware.
    say : callable
        Told each trouble and each change once, in one line.
    """

    def __init__(
        self,
        store: Store,
        lines: Mapping[str, Sequence[ScheduledJob]],
        now: Callable[[], datetime],
        say: Callable[[str], None],
        round_s: float = ROUND_S,
    ) -> None:
        self._store, self._lines, self._now, self._say = store, lines, now, say
        self._round_s = round_s
        self._lock = ProcessLock(store)
        self._said: dict[str, str] = {}
        self._scheduler: BackgroundScheduler | None = None

    def run(self, stop: Event) -> None:
        """Look for due jobs until ``stop`` is set: at once, then every round."""
        # A round decides from data what is due, so it is never too late to hold it, and once is enough.
        logging.getLogger("apscheduler").setLevel(
            logging.ERROR
        )  # a round that lasts is no trouble: the next is near
        defaults = {"coalesce": True, "max_instances": 1, "misfire_grace_time": None}
        scheduler = BackgroundScheduler(timezone="UTC", job_defaults=defaults)
        for line in self._lines:
            every = IntervalTrigger(seconds=self._round_s, timezone="UTC")
            scheduler.add_job(self.round, every, [line], id=line, next_run_time=self._now())
        scheduler.start()
        self._scheduler = scheduler
        try:
            while not stop.wait(self._round_s):
                self._mind_the_clock(scheduler)
        finally:
            scheduler.shutdown()
            self._lock.release()

    def round(self, line: str) -> None:
        """Run what is due in a line, if this process holds the lock."""
        if self._leads():
            for job in self._lines[line]:
                self._attempt(job)

    def _leads(self) -> bool:
        try:
            leads = self._lock.hold()
        except (StoreError, OSError) as error:
            self._tell("lock", str(error))
            return False
        self._tell("lock", LEADING if leads else STANDBY)
        return leads

    def _attempt(self, job: ScheduledJob) -> None:
        """Run a job if it is due; say what it raises, and when it works again."""
        try:
            ran = self._run(job)
        except Exception as error:  # noqa: BLE001 - one job's fault must not end the others
            self._tell(job.name, f"{job.name}: {_said(error)}")
        else:
            if ran and self._said.pop(job.name, ""):
                self._say(f"{job.name}: works again")
            if ran and job.then and self._scheduler is not None:
                self._scheduler.modify_job(job.then, next_run_time=self._now())

    def _run(self, job: ScheduledJob) -> bool:
        now = self._now()
        if job.slot is None:
            job.run(now)
            return True
        slot = job.slot(now)
        if now - slot > job.grace or not job.ready(now):
            return False
        with self._store.begin() as connection:
            if not runs.begin(connection, job.name, slot, now):
                return False
        try:
            job.run(now)
        except Exception as error:
            self._end(job, slot, _said(error))
            raise
        self._end(job, slot)
        return True

    def _end(self, job: ScheduledJob, slot: datetime, error: str = "") -> None:
        with self._store.begin() as connection:
            runs.end(connection, job.name, slot, self._now(), error)

    def _tell(self, about: str, text: str) -> None:
        if self._said.get(about) != text:
            self._said[about] = text
            self._say(text)

    def _mind_the_clock(self, scheduler: BackgroundScheduler) -> None:
        """Bring forward rounds that a clock set back has left far in the future."""
        now = self._now()
        for line in scheduler.get_jobs():
            if line.next_run_time - now > timedelta(seconds=2 * self._round_s):
                line.modify(next_run_time=now)


def _said(error: Exception) -> str:
    return str(error) or type(error).__name__
