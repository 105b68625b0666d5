"""One HTTP request on a line of its own: no redirects, no proxy, no second look-up of the name."""

from __future__ import annotations

import http.client
import ssl
from contextlib import suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from urllib.parse import SplitResult, urlsplit

from alerts.delivery.line import CONNECT_S, DEADLINE_S, PrivateAddressError, connected, ends_by, said_of
from alerts.notices import Refused, Retry, one_line
from calendar_core.weather.sources.answers import retry_after_s

if TYPE_CHECKING:
    import socket
    from collections.abc import Mapping
    from datetime import datetime


@dataclass(frozen=True, slots=True)
class Answer:
    """What the other side answers: ``said`` tells it in one line, ``after_s`` is the wait it asks for."""

    status: int
    said: str
    after_s: float = 0.0

    @property
    def is_taken(self) -> bool:
        """Whether the other side has taken what it was sent; a redirect does not count, it could lead anywhere."""
        return 200 <= self.status < 300


@dataclass(frozen=True, slots=True)
class Asking:
    """A request that is answered by a deadline; ``timeout_s`` is for one step of it."""

    method: str
    address: str
    headers: Mapping[str, str] = field(default_factory=dict)
    body: bytes = b""
    private_ok: bool = False
    timeout_s: float = CONNECT_S
    deadline_s: float = DEADLINE_S

    def answered(self, now: datetime) -> Answer | Refused | Retry:
        """Ask, and return the answer, or why there is none."""
        url = urlsplit(self.address)
        host, line = url.hostname or "", _Line()
        with ends_by(self.deadline_s, lambda: line.socket):
            try:
                line.socket = self._connected(url)
            except PrivateAddressError as error:
                return Refused(str(error))
            except (OSError, ValueError) as error:  # no name, no line, or a port that is none
                return Retry(f"{host}: {said_of(error)}")
            try:
                return self._exchange(url, line.socket, now)
            except (OSError, http.client.HTTPException) as error:
                return Retry(f"{host}: {said_of(error)}", unsure=True)
            finally:
                with suppress(OSError):
                    line.socket.close()

    def _connected(self, url: SplitResult) -> socket.socket:
        host = url.hostname or ""
        line = connected(host, _port(url), self.timeout_s, self.deadline_s, private_ok=self.private_ok)
        if url.scheme == "https":
            return ssl.create_default_context().wrap_socket(line, server_hostname=host)
        return line

    def _exchange(self, url: SplitResult, line: socket.socket, now: datetime) -> Answer:
        host = url.hostname or ""
        connection = http.client.HTTPConnection(host, _port(url))
        connection.sock = line
        path = (url.path or "/") + (f"?{url.query}" if url.query else "")
        connection.request(self.method, path, self.body, dict(self.headers))
        response = connection.getresponse()
        said = one_line(f"{host} answers {response.status} {response.reason}")
        return Answer(response.status, said, retry_after_s(dict(response.headers.items()), now) or 0.0)


@dataclass(slots=True)
class _Line:
    """The line of a request, as soon as there is one."""

    socket: socket.socket | None = None


def _port(url: SplitResult) -> int:
    return url.port or (443 if url.scheme == "https" else 80)
