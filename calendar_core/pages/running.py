"""Running the service: a socket, the pages behind it, and the jobs beside them."""

from __future__ import annotations

import gc
import logging
import socket
from contextlib import suppress
from dataclasses import dataclass
from threading import Event, Thread
from typing import TYPE_CHECKING

import uvicorn

from alerts.schedule.watch import Watch
from calendar_core.app.calendar.jobs import CalendarJobs
from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.session import default_database, open_database
from calendar_core.app.warnings.jobs import Jobs
from calendar_core.app.warnings.mailing import carrier
from calendar_core.pages.service import make_app
from calendar_core.pages.shell.keeping import BeingWorkedOutError
from calendar_core.pages.shell.site import HERE, Site
from calendar_core.pages.views.today import screen_of
from calendar_core.storage.copies import sqlite_file
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from calendar_core.storage.engine import Store

log = logging.getLogger("leafclock.serve")
WAITING = 100  # connections that wait to be taken (estimate)
STOPS_S = 10  # so long what is being answered is given before the service ends (estimate)


@dataclass(frozen=True, slots=True)
class Listening:
    """Where the service listens, and the names under which it is asked for."""

    host: str
    port: int
    names: tuple[str, ...] = ()

    @property
    def is_here(self) -> bool:
        """Tell whether only this machine can ask."""
        return self.host in HERE


def run(where: Listening, db: str | None, garden: str | None, day: date | None, *, jobs: bool) -> None:
    """Serve until stopped. Raises Refusal where the address is taken."""
    line = _socket(where)
    store = open_database(db)
    site = Site(store, garden, day, (*HERE, where.host, *where.names), demands_key=not where.is_here)
    site.garden()  # one that is not clear is told before anything is shown
    gc.enable()
    stop = Event()
    server = uvicorn.Server(
        uvicorn.Config(
            make_app(site),
            log_config=None,
            access_log=False,
            server_header=False,
            timeout_graceful_shutdown=STOPS_S,
        )
    )
    beside = Thread(target=_jobs, args=(store, db, stop), name="jobs") if jobs and day is None else None
    host, port = line.getsockname()[:2]
    _say(f"serving {store.name} at http://{f'[{host}]' if ':' in host else host}:{port}/")
    Thread(target=_ready, args=(site,), daemon=True).start()
    if beside is not None:
        beside.start()
    try:
        server.run(sockets=[line])
    finally:
        stop.set()
        if beside is not None:
            beside.join(STOPS_S)
        site.close()
    _say("stopped")


def _ready(site: Site) -> None:
    """Work out the first page before anybody asks for it."""
    with suppress(BeingWorkedOutError, StoreError):  # whoever asks is told
        session = site.session()
        if session is not None:
            site.kept(session, screen_of)


def _jobs(store: Store, db: str | None, stop: Event) -> None:
    """Do what ``watch`` does; whoever holds the database's lock."""
    try:
        database: Path | None = sqlite_file(db if db is not None else str(default_database()), "pg_dump")
    except StoreError:  # not a file
        database = None
    jobs = CalendarJobs(Jobs(store, carrier(utc_now, store), utc_now, _say, database))
    Watch(store, jobs.lines(), utc_now, _say).run(stop)


def _socket(where: Listening) -> socket.socket:
    """Return the socket that is listened at. Raises Refusal where it cannot be had."""
    try:
        family, kind, proto, _, address = socket.getaddrinfo(where.host, where.port, type=socket.SOCK_STREAM)[
            0
        ]
        line = socket.socket(family, kind, proto)
        line.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        line.bind(address)
        line.listen(WAITING)  # who asks before all is loaded waits for it
    except OSError as error:
        said = error.strerror or str(error)
        raise Refusal(
            f"--host {where.host} --port {where.port}: cannot be listened at ({said}); right would be another port, or an address of this machine"
        ) from None
    return line


def _say(text: str) -> None:
    """Tell in the service's journal."""
    print(f"{utc_now().astimezone():%Y-%m-%d %H:%M:%S} {text}", flush=True)  # noqa: T201 - a service's journal
