"""The pages of a database, served in this process on a port of this machine."""

from __future__ import annotations

import re
import socket
import time
from contextlib import contextmanager
from dataclasses import dataclass
from threading import Event, Thread
from typing import TYPE_CHECKING

import requests
import uvicorn

from calendar_core.pages.service import make_app
from calendar_core.pages.shell import keeping
from calendar_core.pages.shell.site import HERE, Site
from calendar_core.storage.engine import open_store

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import date
    from pathlib import Path

    import pytest

ANEW = "being worked out anew"
TOKEN = re.compile(r'data-token="([0-9a-f]{64})"')


@dataclass(frozen=True)
class Served:
    """Pages that answer at an address, and the site behind them."""

    url: str
    site: Site

    def reader(self) -> Reader:
        """Return somebody with a browser that knows no scripts."""
        return Reader(self.url, requests.Session())


@dataclass(frozen=True)
class Reader:
    """A browser without scripts: it keeps cookies and sends the forms that it was shown."""

    url: str
    line: requests.Session

    def get(self, path: str = "/", **headers: str) -> requests.Response:
        return self.line.get(self.url + path, headers=headers, timeout=60)

    def settled(self, path: str = "/") -> str:
        """Return a page once it stands as it is now: a busy machine may show how it stood before."""
        for _ in range(200):
            text = self.get(path).text
            if ANEW not in text:
                return text
            time.sleep(0.1)
        raise AssertionError(f"{path} is never worked out")

    def token(self, path: str = "/") -> str:
        found = TOKEN.search(self.get(path).text)
        assert found is not None, f"{path} shows no token"
        return found[1]

    def post(self, path: str, data: Mapping[str, object] | None = None, **more: object) -> requests.Response:
        """Send a form with the mark of the page of today."""
        form = {"token": self.token(), **(data or {})}
        return self.line.post(self.url + path, data=form, timeout=60, **more)  # type: ignore[arg-type]


@contextmanager
def serving(
    database: Path | str, day: date | None = None, *, demands_key: bool = False, garden: str | None = None
) -> Iterator[Served]:
    """Serve a database until the block is left."""
    line = socket.socket()
    line.bind(("127.0.0.1", 0))
    line.listen(100)  # who asks before the service is up waits
    site = Site(open_store(database), garden, day, HERE, demands_key=demands_key)
    server = uvicorn.Server(
        uvicorn.Config(
            make_app(site), log_config=None, access_log=False, lifespan="off", timeout_graceful_shutdown=1
        )
    )
    runs = Thread(target=server.run, kwargs={"sockets": [line]}, daemon=True)
    runs.start()
    try:
        yield Served(f"http://127.0.0.1:{line.getsockname()[1]}", site)
    finally:
        server.should_exit = True
        runs.join(20)
        site.close()
        line.close()


@contextmanager
def busy(site: Site, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Let what is not worked out yet take long until the block is left, and nobody wait for it."""
    done = Event()

    def hold() -> None:
        done.wait(60)

    site._keeper._asked.put(hold)
    try:
        with monkeypatch.context() as patch:
            patch.setattr(keeping, "AT_FIRST_S", 0.05)
            yield
    finally:
        done.set()
