"""``watch``: all jobs of a database, until stopped."""

from __future__ import annotations

import gc
import os
import signal
from pathlib import Path
from threading import Event

import typer

from alerts.schedule.watch import Watch
from calendar_core.app.calendar.jobs import CalendarJobs
from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.options import Db
from calendar_core.app.shell.output import line
from calendar_core.app.shell.session import default_database, no_database, open_database
from calendar_core.app.warnings.jobs import Jobs
from calendar_core.app.warnings.mailing import HELP, carrier, heartbeat
from calendar_core.app.weather.services import source_set
from calendar_core.storage.copies import sqlite_file
from calendar_core.storage.errors import StoreError
from calendar_core.wording.style import Style
from calendar_core.wording.warnings.judged_text import WATCHING


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command(help=f"{watch.__doc__} {HELP}")(watch)


def watch(db: Db = None) -> None:
    """Judge and warn until stopped: fetch weather, send messages, plan each new day, keep calendars, copy the database."""
    where = db if db is not None else str(default_database())
    try:
        database: Path | None = sqlite_file(where, "pg_dump")
    except StoreError:  # not a file
        database = None
    if database is not None and not database.exists():
        raise no_database(where)
    heartbeat()  # one that cannot be called is told at once
    store = open_database(db)
    by, off = carrier(utc_now, store), source_set() == "off"
    stop = Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda *_: _stop(stop))
    gc.enable()  # other commands end before there is garbage worth a search; this one stays
    jobs = CalendarJobs(Jobs(store, by, utc_now, _say_with_time, database))
    words = Style().say
    _say_with_time(words(WATCHING["begins"], name=store.name))
    if off:
        _say_with_time(words(WATCHING["no_weather"]))
    try:
        Watch(store, jobs.lines(), utc_now, _say_with_time).run(stop)
    finally:
        store.close()
    _say_with_time(words(WATCHING["stopped"]))


def _stop(stop: Event) -> None:
    """Stop after what is under way; the second time at once, as a crash would: nothing is lost by it."""
    if stop.is_set():
        os._exit(1)
    stop.set()


def _say_with_time(text: str) -> None:
    line(f"{utc_now().astimezone():%Y-%m-%d %H:%M:%S} {text}")
