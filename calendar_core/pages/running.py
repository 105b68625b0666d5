"""Running the service: a socket, the pages behind it, and the jobs beside them."""

from __future__ import annotations

import gc
import logging
import signal
import socket
import ssl
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from threading import Event, Thread
from typing import TYPE_CHECKING

import uvicorn

from calendar_core.app.keys.keys import list_keys
from calendar_core.app.shell.clock import utc_now, with_time
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.session import default_database, no_database, open_database
from calendar_core.app.warnings.mailing import carrier, heartbeat
from calendar_core.pages.service import make_app
from calendar_core.pages.shell.keeping import BeingWorkedOutError
from calendar_core.pages.shell.no_secrets import NoSecrets
from calendar_core.pages.shell.site import HERE, Site
from calendar_core.pages.views.today import screen_of
from calendar_core.storage.copy_folder import way_back
from calendar_core.storage.errors import StoreError
from calendar_core.wording.pages.serving_text import SERVING
from calendar_core.wording.style import Style

if TYPE_CHECKING:
    from datetime import date
    from types import FrameType

    from calendar_core.storage.engine import Store

WAITING = 100  # connections that wait to be taken (estimate)
STOPS_S = 10  # so long what is being answered is given before the service ends (estimate)
TRUSTED = ["127.0.0.1", "::1"]
"""Who may say for whom they ask, and whether by https: a reverse proxy on this machine, nobody else."""


@dataclass(frozen=True, slots=True)
class Listening:
    """Where the service listens, the names under which it is asked for, and the certificate with its key that it shows."""

    host: str
    port: int
    names: tuple[str, ...] = ()
    certificate: Path | None = None
    certificate_key: Path | None = None

    @property
    def is_here(self) -> bool:
        """Tell whether only this machine can ask: a name is given where others do, through a program that passes on."""
        return self.host in HERE and not self.names

    @property
    def scheme(self) -> str:
        """What an address of the pages begins with."""
        return "https" if self.certificate else "http"


class _Server(uvicorn.Server):
    """A server that lets the jobs know as soon as it is told to stop."""

    def __init__(self, config: uvicorn.Config, stop: Event) -> None:
        super().__init__(config)
        self._stop = stop

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Stop taking questions, answer those that are here, and let the jobs end."""
        self._stop.set()
        super().handle_exit(sig, frame)


def run(where: Listening, db: str | None, garden: str | None, day: date | None, *, jobs: bool) -> None:
    """Serve until stopped. Raises Refusal where the address is taken, or others could ask and no key was made."""
    _check_certificate(where)
    line = _socket(where)
    store, is_new = _opened(db)
    site = Site(store, garden, day, (*HERE, where.host, *where.names), demands_key=not where.is_here)
    _check_keys(site)
    watches = jobs and day is None
    if watches:
        heartbeat()  # a monitor or a mail server that cannot be called is told at once
        carrier(utc_now, store)
    gc.enable()
    stop = Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda number, _: _stop(stop, number))
    logging.getLogger("uvicorn.access").addFilter(NoSecrets())  # should anybody switch it on
    server = _Server(_config(site, where), stop)
    beside = Thread(target=_watch, args=(store, db, stop), name="jobs") if watches else None
    _tell(where, line, site, is_new=is_new)
    Thread(target=_ready, args=(site,), daemon=True).start()
    if beside is not None:
        beside.start()
    try:
        server.run(sockets=[line])
    finally:
        stop.set()
        if beside is not None:
            beside.join()  # what is being done is done to its end; the service file says how long at most
        site.close()
    _say(Style().say(SERVING["stopped"]))


def _config(site: Site, where: Listening) -> uvicorn.Config:
    return uvicorn.Config(
        make_app(site),
        log_config=None,
        access_log=False,
        server_header=False,
        proxy_headers=True,
        forwarded_allow_ips=TRUSTED,
        timeout_graceful_shutdown=STOPS_S,
        ssl_certfile=where.certificate,
        ssl_keyfile=where.certificate_key,
    )


def _opened(db: str | None) -> tuple[Store, bool]:
    """Open the database, and tell whether it was made: one that was there once is not made anew. Raises Refusal."""
    named = db if db is not None else str(default_database())
    file = Path(named).expanduser()
    is_new = "://" not in named and not file.exists()
    if is_new and way_back(file):
        raise no_database(named)
    return open_database(db), is_new


def _check_keys(site: Site) -> None:
    """Raise Refusal where others can ask and there is no key to ask them for."""
    garden = site.garden()  # one that is not clear is told before anything is shown
    if not site.demands_key:
        return
    if garden is None:
        raise Refusal(
            "there is no garden yet, and whoever comes first would found it; right would be leafclock serve for this machine "
            "alone, or: leafclock start"
        )
    if not list_keys(site.store, garden.id):
        raise Refusal(
            "other machines could ask, and no key was made; right would be one first: leafclock key add owner NAME, "
            "or leafclock key password"
        )


def _check_certificate(where: Listening) -> None:
    """Raise Refusal for a certificate that cannot be shown."""
    if (where.certificate is None) != (where.certificate_key is None):
        raise Refusal("--certificate and --certificate-key go together; right would be both")
    if where.certificate is None:
        return
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(
            where.certificate, where.certificate_key, lambda: ""
        )
    except OSError as error:
        raise Refusal(
            f"--certificate {where.certificate} --certificate-key {where.certificate_key}: cannot be used "
            f"({error.strerror or error}); right would be two PEM files that belong together, the key without a password"
        ) from None


def _tell(where: Listening, line: socket.socket, site: Site, *, is_new: bool) -> None:
    """Tell where the pages are, and what is still to be done."""
    words = Style().say
    host, port = line.getsockname()[:2]
    address = f"{where.scheme}://{f'[{host}]' if ':' in host else host}:{port}/"
    if is_new:
        _say(words(SERVING["made"], file=site.store.name))
    _say(words(SERVING["at"], file=site.store.name, address=address))
    if site.garden() is None:
        _say(words(SERVING["begin"], address=f"{address}begin"))
    if not where.is_here and where.certificate is None:
        _say(words(SERVING["named" if where.host in HERE else "bare"]))


def _ready(site: Site) -> None:
    """Work out the first page before anybody asks for it."""
    with suppress(BeingWorkedOutError, StoreError):  # whoever asks is told
        session = site.session()
        if session is not None:
            site.kept(session, screen_of)


def _watch(store: Store, db: str | None, stop: Event) -> None:
    """Do what ``watch`` does, where no other process holds the database's lock."""
    from calendar_core.app.watching.watching import file_of, watch_of  # noqa: PLC0415 - its second is not the pages' to wait

    watch_of(store, file_of(db if db is not None else str(default_database())), _say).run(stop)


def _stop(stop: Event, number: int) -> None:
    """Ask all to end; whoever asks again does not want to wait."""
    stop.set()
    signal.signal(number, signal.SIG_DFL)


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
    print(with_time(text), flush=True)  # noqa: T201 - a service's journal
