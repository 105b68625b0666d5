"""When jobs run: once a slot in every zone, made up for after a stop, in one process only."""

from __future__ import annotations

import shlex
import subprocess
import sys
import threading
from collections import Counter
from contextlib import ExitStack
from datetime import UTC, date, datetime, time, timedelta
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest
from apscheduler.schedulers.background import BackgroundScheduler

from alerts.schedule import runs
from alerts.schedule.lock import ProcessLock
from alerts.schedule.slots import daily, hourly
from alerts.schedule.watch import LEADING, STANDBY, ScheduledJob, Watch
from calendar_core.storage import copies, postgresql_line
from calendar_core.storage.copy_folder import copies_in, folder_of
from calendar_core.storage.engine import open_store
from calendar_core.storage.errors import StoreError
from tests.alerts.conftest import NOW
from tests.postgresql import tell
from tests.silent_proxy import proxied

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from calendar_core.storage.engine import Store

HOUR = timedelta(hours=1)


@pytest.mark.slow
@pytest.mark.parametrize(
    "zone",
    [
        "Europe/Helsinki",
        "America/Los_Angeles",
        "Australia/Lord_Howe",
        "Asia/Kathmandu",
        "Africa/Cairo",
        "Pacific/Chatham",
    ],
)
@pytest.mark.parametrize("at", [time(0), time(2, 15), time(3, 30), time(18)])
def test_each_local_day_has_one_slot(zone: str, at: time) -> None:
    """Over a year, each hour, and each quarter around clock changes (tz database): also at hours that are not there or twice."""
    there, start = ZoneInfo(zone), datetime(2026, 1, 1, tzinfo=UTC)
    hours = [start + step * HOUR for step in range(365 * 24)]
    changes = [
        a for a, b in pairwise(hours) if a.astimezone(there).utcoffset() != b.astimezone(there).utcoffset()
    ]
    near = {hour for change in changes for hour in hours if abs(hour - change) <= 48 * HOUR}
    quarters = (
        hour + timedelta(minutes=m) for hour in hours for m in ((0, 15, 30, 45) if hour in near else (0,))
    )
    slots = dict.fromkeys(daily(moment, at, there) for moment in quarters)
    assert len(slots) in {365, 366}
    assert sorted(slots) == list(slots)
    days = Counter(slot.astimezone(there).date() for slot in slots)
    assert set(days.values()) == {1}


def test_the_evening_slot_around_a_clock_change() -> None:
    """Helsinki, 29 March 2026: summer time begins at 01:00 UTC (tz database)."""
    at_six = partial(daily, at=time(18), zone=ZoneInfo("Europe/Helsinki"))
    assert at_six(datetime(2026, 3, 29, 14, 59, tzinfo=UTC)) == datetime(2026, 3, 28, 16, tzinfo=UTC)
    assert at_six(datetime(2026, 3, 29, 15, 0, tzinfo=UTC)) == datetime(2026, 3, 29, 15, tzinfo=UTC)
    assert at_six(datetime(2026, 10, 25, 16, 0, tzinfo=UTC)) == datetime(2026, 10, 25, 16, tzinfo=UTC)


def test_hours_of_utc() -> None:
    assert hourly(datetime(2026, 3, 29, 7, 40, tzinfo=UTC)) == datetime(2026, 3, 29, 7, tzinfo=UTC)
    assert hourly(datetime(2026, 3, 29, 7, 40, tzinfo=ZoneInfo("Asia/Kathmandu")), 6).hour == 0


class Stage:
    """A watch whose clock stands where it is put, and what it said and ran."""

    def __init__(self, store: Store, *jobs: ScheduledJob) -> None:
        self.now, self.said = NOW, list[str]()
        self.watch = Watch(store, {"line": jobs}, lambda: self.now, self.said.append)

    def at(self, now: datetime) -> None:
        self.now = now
        self.watch.round("line")

    def leads(self, now: datetime) -> bool:
        """Hold a round; tell whether it ran the jobs."""
        self.at(now)
        return self.said[-1:] == [LEADING]

    def end(self) -> None:
        self.watch._lock.release()


@pytest.fixture
def at_end() -> Iterator[ExitStack]:
    """Give what is done at the end, also of a test that fails: its locks would else be open in the next."""
    with ExitStack() as stack:
        yield stack


@pytest.fixture
def staged(store: Store, at_end: ExitStack) -> Callable[..., Stage]:
    """Give the function that makes a stage of some jobs."""

    def made(*jobs: ScheduledJob) -> Stage:
        stage = Stage(store, *jobs)
        at_end.callback(stage.end)
        return stage

    return made


def test_a_slot_is_run_once_whatever_the_clock_does(staged: Callable[..., Stage]) -> None:
    ran: list[datetime] = []
    stage = staged(ScheduledJob("judge", ran.append, hourly))
    for minutes in (0, 1, 30, 61, 62, 20, 59, 63):  # set back by 42 minutes, and on again
        stage.at(NOW + timedelta(minutes=minutes))
    assert ran == [NOW, NOW + timedelta(minutes=61)]
    stage.end()
    again = staged(ScheduledJob("judge", ran.append, hourly))  # a new start
    _until(lambda: again.leads(NOW + timedelta(minutes=64)))
    assert len(ran) == 2


def test_what_was_missed_is_made_up_for_once_unless_it_is_too_late(staged: Callable[..., Stage]) -> None:
    ran: list[datetime] = []
    evening = partial(daily, at=time(18), zone=ZoneInfo("America/Los_Angeles"))
    stage = staged(ScheduledJob("digest", ran.append, evening, grace=5 * HOUR))
    stage.at(NOW - HOUR)  # of yesterday's evening: 23 hours ago
    assert ran == []
    stage.at(NOW + 3 * 24 * HOUR + 2 * HOUR)  # three evenings later: only the last one
    assert len(ran) == 1


def test_a_job_that_fails_is_said_once_and_tried_again(store: Store, staged: Callable[..., Stage]) -> None:
    broken = True

    def job(_now: datetime) -> None:
        if broken:
            raise StoreError("the service is down")

    after: list[datetime] = []
    stage = staged(ScheduledJob("refresh", job, hourly), ScheduledJob("send", after.append))
    stage.at(NOW)
    stage.at(NOW + timedelta(minutes=1))
    with store.read() as connection:
        (run,) = runs.last_runs(connection)
    assert (run.tries, run.done_at, run.error) == (2, None, "the service is down")
    broken = False
    stage.at(NOW + timedelta(minutes=2))
    assert stage.said == [LEADING, "refresh: the service is down", "refresh: works again"]
    assert len(after) == 3  # the others go on
    with store.read() as connection:
        (run,) = runs.last_runs(connection)
    assert run.done_at == NOW + timedelta(minutes=2)


def test_a_run_that_broke_off_is_run_again(store: Store) -> None:
    with store.begin() as connection:
        assert runs.begin(connection, "judge", NOW, NOW)  # and then the process was killed
        assert runs.begin(connection, "judge", NOW, NOW + HOUR)
        runs.end(connection, "judge", NOW, NOW + HOUR)
        assert not runs.begin(connection, "judge", NOW, NOW + HOUR)
        runs.begin(connection, "judge", NOW + runs.KEPT + HOUR, NOW + runs.KEPT + HOUR)
        runs.end(connection, "judge", NOW + runs.KEPT + HOUR, NOW + runs.KEPT + HOUR)
        assert runs.begin(connection, "judge", NOW, NOW)  # forgotten


HOLDER = """
import sys
from calendar_core.storage.engine import open_store
from alerts.schedule.lock import ProcessLock
lock = ProcessLock(open_store(sys.argv[1]))
print(lock.hold(), flush=True)
sys.stdin.read()
"""


def test_one_process_runs_the_jobs_and_another_takes_over_when_it_is_killed(
    address: str, staged: Callable[..., Stage]
) -> None:
    ran: list[datetime] = []
    stage = staged(ScheduledJob("judge", ran.append, hourly))
    command = [sys.executable, "-c", HOLDER, address]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "True\n"
        stage.at(NOW)
        stage.at(NOW)
        assert (ran, stage.said) == ([], [STANDBY])
        other.kill()
    _until(lambda: stage.leads(NOW))  # PostgreSQL notices the broken line in its own time
    assert (ran, stage.said) == ([NOW], [STANDBY, LEADING])


def test_a_database_has_one_leader_by_whatever_name_it_is_opened(tmp_path: Path, at_end: ExitStack) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "folder").symlink_to("real")
    (tmp_path / "link.db").symlink_to("real/garden.db")
    names = (tmp_path / "real" / "garden.db", tmp_path / "link.db", tmp_path / "folder" / "garden.db")
    stores = [open_store(name) for name in names]
    locks = [ProcessLock(store) for store in stores]
    for closing in (*(lock.release for lock in locks), *(store.close for store in stores)):
        at_end.callback(closing)
    assert [lock.hold() for lock in locks] == [True, False, False]
    locks[0].release()
    assert [lock.hold() for lock in reversed(locks)] == [True, False, False]


def test_a_lock_that_the_server_lost_is_not_held(alerts_postgresql: str, at_end: ExitStack) -> None:
    """The lock goes with its backend, which PostgreSQL ends in its own time, told to or left alone: it is waited for."""
    store = open_store(alerts_postgresql)
    at_end.callback(store.close)
    lock, other = ProcessLock(store), ProcessLock(store)
    at_end.callback(lock.release)
    at_end.callback(other.release)
    assert lock.hold()
    ended = "SELECT pg_terminate_backend(pid, 30000) FROM pg_locks WHERE locktype = 'advisory'"
    tell(alerts_postgresql, ended)
    assert other.hold()
    assert not lock.hold()
    other.release()
    _until(lock.hold)


def test_behind_a_line_that_falls_silent_every_line_comes_back_says_so_and_goes_on_later(
    alerts_postgresql: str, at_end: ExitStack, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The line stays open, so that neither side's system notices; the lock goes when the server has heard nothing."""
    monkeypatch.setattr(postgresql_line, "SILENCE_S", 3)
    monkeypatch.setitem(postgresql_line.LIMITS, "connect_timeout", 2)
    monkeypatch.setattr("alerts.schedule.lock.PATIENCE_S", 2)
    monkeypatch.setattr("alerts.schedule.lock.TURN_S", 1)
    monkeypatch.setattr("alerts.schedule.lock.IDLE_S", 4)
    tell(alerts_postgresql, "TRUNCATE job_run")
    url, proxy = at_end.enter_context(proxied(alerts_postgresql))
    store = open_store(url)
    at_end.callback(store.close)
    lines = ("weather", "sending", "keeping")
    ran: list[str] = []
    jobs = {name: [ScheduledJob(name, partial(_note, ran, name))] for name in lines}
    said: list[str] = []
    watch = Watch(store, jobs, lambda: NOW, said.append)
    at_end.callback(watch._lock.release)

    def rounds() -> None:
        threads = [threading.Thread(target=watch.round, args=(name,), daemon=True) for name in lines]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(30)
            assert not thread.is_alive(), "a line hangs"

    rounds()
    proxy.silent.set()
    for _ in range(3):
        rounds()
    assert sorted(ran) == sorted(lines)
    silent = f"{store.name}: the server does not answer: see that it runs and can be reached"
    assert said == [LEADING, silent]
    proxy.silent.clear()
    _until(watch._leads)
    rounds()
    assert sorted(ran) == sorted(lines * 2)
    assert said[-1] == LEADING


def test_a_database_that_is_lost_is_said_and_one_put_back_is_gone_on_with(tmp_path: Path) -> None:
    """A file that is removed stays open to who has it open: what is written to it is lost."""
    file = tmp_path / "garden.db"
    store = open_store(file)
    copies.copy_of_day(file, NOW.date(), 14)
    stage = Stage(store, ScheduledJob("judge", lambda _now: None, hourly))
    stage.at(NOW)
    for path in tmp_path.glob("garden.db*"):
        if not path.name.endswith(".lock"):
            path.unlink()
    stage.at(NOW + HOUR)
    (copy,) = copies_in(folder_of(file))
    command = shlex.join(["leafclock", "restore", str(copy), "--db", str(file)])
    gone = f"{file}: this database is gone; its newest whole copy comes back with: {command}"
    assert stage.said == [LEADING, gone]
    assert not file.exists()
    copies.restore(copy, file)
    stage.at(NOW + 2 * HOUR)
    assert stage.said == [LEADING, gone, LEADING]
    with open_store(file).read() as connection:
        assert [run.slot for run in runs.last_runs(connection)] == [NOW + 2 * HOUR]
    stage.end()
    store.close()


def test_a_full_disk_is_said_and_the_rest_goes_on(tmp_path: Path) -> None:
    """SQLite: "PRAGMA max_page_count" gives the error of a full disk."""
    store = open_store(tmp_path / "garden.db")
    ran: list[datetime] = []

    def write_much(now: datetime) -> None:
        with store.begin() as connection:
            connection.exec_driver_sql("PRAGMA max_page_count=1")
            runs.begin(connection, "x" * 1_000_000, now, now)

    stage = Stage(store, ScheduledJob("refresh", write_much, hourly), ScheduledJob("send", ran.append))
    stage.at(NOW)
    assert ran == [NOW]
    assert any(text.startswith("refresh: ") and "free some space" in text for text in stage.said)
    stage.end()
    store.close()


def _note(ran: list[str], name: str, _now: datetime) -> None:
    ran.append(name)


def _until(condition: Callable[[], object]) -> None:
    for _ in range(600):
        if condition():
            return
        threading.Event().wait(0.05)
    raise AssertionError("it did not come about in 30 s")


def test_it_runs_at_once_and_round_after_round_until_it_is_stopped(store: Store, at_end: ExitStack) -> None:
    ran: list[datetime] = []
    said: list[str] = []
    stop = threading.Event()
    clock = lambda: datetime.now(UTC)  # noqa: E731, TID251 - the scheduler reads the real one
    watch = Watch(store, {"send": [ScheduledJob("send", ran.append)]}, clock, said.append, round_s=0.1)
    thread = threading.Thread(target=watch.run, args=(stop,))
    thread.start()
    at_end.callback(thread.join)
    at_end.callback(stop.set)
    _until(lambda: len(ran) >= 3)
    at_end.close()
    assert said == [LEADING]
    lock = ProcessLock(store)
    _until(lock.hold)  # given back, which PostgreSQL notices in its own time
    lock.release()


def test_a_clock_set_back_does_not_stop_the_rounds(staged: Callable[..., Stage]) -> None:
    scheduler = BackgroundScheduler(timezone="UTC")
    scheduler.start(paused=True)
    scheduler.add_job(print, "interval", seconds=60, next_run_time=NOW + 24 * HOUR, id="line")
    stage = staged()
    stage.watch._mind_the_clock(scheduler)
    assert scheduler.get_job("line").next_run_time == NOW
    scheduler.shutdown()


def test_a_day_that_a_zone_left_out_has_no_slot_of_its_own() -> None:
    """Samoa had no 30 December 2011 (tz database)."""
    at_six = partial(daily, at=time(18), zone=ZoneInfo("Pacific/Apia"))
    moments = [datetime(2011, 12, 29, tzinfo=UTC) + HOUR * step for step in range(96)]
    days = {at_six(moment).astimezone(ZoneInfo("Pacific/Apia")).date() for moment in moments}
    assert date(2011, 12, 29) in days
    assert date(2011, 12, 31) in days
