"""``watch``: all jobs of a database, until stopped."""

from __future__ import annotations

import gc
import os
import signal
from threading import Event

import typer

from calendar_core.app.shell.clock import with_time
from calendar_core.app.shell.options import Db
from calendar_core.app.shell.output import line
from calendar_core.app.shell.session import default_database, no_database, open_database
from calendar_core.app.warnings.mailing import HELP
from calendar_core.app.watching.watching import file_of, watch_of
from calendar_core.app.weather.services import source_set
from calendar_core.wording.style import Style
from calendar_core.wording.warnings.judged_text import WATCHING


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command(help=f"{watch.__doc__} {HELP}")(watch)


def watch(db: Db = None) -> None:
    """Judge and warn until stopped: fetch weather, send messages, plan each new day, keep calendars, copy the database."""
    where = db if db is not None else str(default_database())
    file = file_of(where)
    if file is not None and not file.exists():
        raise no_database(where)
    store = open_database(db)
    watching, off = watch_of(store, file, _say), source_set() == "off"
    stop = Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda *_: _stop(stop))
    gc.enable()  # other commands end before there is garbage worth a search; this one stays
    words = Style().say
    _say(words(WATCHING["begins"], name=store.name))
    if off:
        _say(words(WATCHING["no_weather"]))
    try:
        watching.run(stop)
    finally:
        store.close()
    _say(words(WATCHING["stopped"]))


def _stop(stop: Event) -> None:
    """Stop after what is under way; the second time at once, as a crash would: nothing is lost by it."""
    if stop.is_set():
        os._exit(1)
    stop.set()


def _say(text: str) -> None:
    line(with_time(text))
