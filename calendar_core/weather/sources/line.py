"""One request over the line to a service: apart from the last, bounded in time and size, redirects followed.

Proxies and certificates are those of the environment, since there may be no other way out of a house; no password is
looked for anywhere, nor sent.
"""

from __future__ import annotations

import socket
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urljoin, urlsplit

import requests
import urllib3

from calendar_core.weather.sources import answers
from calendar_core.weather.sources.hosts import is_public
from calendar_core.weather.sources.sockets import TimedAdapter

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

MOST_REDIRECTS = 3
_READ_AT_ONCE = 65_536


class LineDown(Exception):  # noqa: N818 - reads as what it is where it is caught
    """No whole answer came; says what went wrong, without the address, which may hold a secret."""


class LedAway(Exception):  # noqa: N818 - reads as what it is where it is caught
    """A redirect that is not followed."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Seconds to connect and to read, until a call is given up, and between two requests; bytes of an unpacked body."""

    timeouts: tuple[float, float]
    deadline_s: float
    most_bytes: int
    pause_s: float


@dataclass(frozen=True, slots=True)
class Reply:
    """A whole answer as it came, unpacked."""

    status: int
    reason: str
    headers: Mapping[str, str]
    body: bytes


class Line:
    """Makes requests in the name of ``user_agent``, each to a host ``pause_s`` after the last to it."""

    def __init__(
        self,
        user_agent: str,
        limits: Limits,
        *,
        sleep: Callable[[float], None],
        monotonic: Callable[[], float],
    ) -> None:
        self._limits, self._sleep, self._monotonic = limits, sleep, monotonic
        self._asked_at: dict[str, float] = {}
        self._until = float("inf")
        self._session = requests.Session()
        self._session.auth = _without_password
        for scheme in ("http://", "https://"):
            self._session.mount(scheme, TimedAdapter(lambda: self._until - self._monotonic()))
        # Only gzip, so that it is unpacked here, within the limit of size.
        self._session.headers.update({"User-Agent": user_agent, "Accept-Encoding": "gzip"})

    def get(self, url: str, headers: Mapping[str, str], until: float) -> Reply:
        """Make a request, follow redirects, and return the whole reply by ``until`` [s, monotonic].

        Raises
        ------
        LineDown
        LedAway
        answers.Nonsense
            A body that is too large or cannot be unpacked.
        """
        self._until = until
        try:
            return self._followed(url, headers, until)
        except (OSError, requests.RequestException, urllib3.exceptions.HTTPError) as error:
            late = requests.Timeout() if self._monotonic() >= until else error
            raise LineDown(self._failure(late)) from error

    def _followed(self, url: str, headers: Mapping[str, str], until: float) -> Reply:
        first, scheme = url, urlsplit(url).scheme
        for _ in range(MOST_REDIRECTS + 1):
            with self._send(url, headers) as response:
                if not response.is_redirect:
                    body = self._body(response, until)
                    return Reply(response.status_code, response.reason, response.headers, body)
                url = urljoin(url, response.headers["Location"])
            to = urlsplit(url)
            if to.scheme != scheme:
                raise LedAway(f"leads on to {to.scheme}://{to.hostname}; right would be {scheme}")
            if leads_into_the_house(first, url):
                raise LedAway(
                    f"leads on to {to.hostname}, which is on this machine or its network; right would be a public host"
                )
        raise LedAway(f"leads on more than {MOST_REDIRECTS} times; right would be fewer")

    def _send(self, url: str, headers: Mapping[str, str]) -> requests.Response:
        host = urlsplit(url).netloc
        pause = self._asked_at.get(host, float("-inf")) + self._limits.pause_s - self._monotonic()
        if pause > 0:
            self._sleep(pause)
        self._asked_at[host] = self._monotonic()
        return self._session.get(
            url, headers=dict(headers), timeout=self._limits.timeouts, stream=True, allow_redirects=False
        )

    def _body(self, response: requests.Response, until: float) -> bytes:
        """Read what arrives, piece by piece: the read timeout alone lets a dripping body last for ever."""
        body = bytearray()
        while piece := response.raw.read1(_READ_AT_ONCE, decode_content=False):
            body += piece
            if self._monotonic() > until:
                raise requests.Timeout
            if len(body) > self._limits.most_bytes:
                raise answers.Nonsense(answers.too_much(self._limits.most_bytes))
        packed = response.headers.get("Content-Encoding", "").strip().lower() == "gzip"
        return answers.unpacked(bytes(body), self._limits.most_bytes) if packed else bytes(body)

    def _failure(self, error: Exception) -> str:
        """Say what went wrong on the line, without the address, which may hold a secret."""
        if isinstance(error, requests.exceptions.SSLError):
            return "has no valid certificate"
        if isinstance(error, requests.ConnectTimeout):
            return f"did not accept a connection within {self._limits.timeouts[0]:g} s"
        if isinstance(error, requests.ReadTimeout | urllib3.exceptions.ReadTimeoutError):
            return f"was silent for {self._limits.timeouts[1]:g} s"
        if isinstance(error, requests.Timeout):
            return f"did not finish its answer within {self._limits.deadline_s:g} s"
        return "cannot be reached" if isinstance(error, requests.ConnectionError) else "broke off its answer"


def leads_into_the_house(first: str, to: str) -> bool:
    """Tell whether a public address leads on to one of this machine or its network: that is never what was meant."""
    return any(not is_public(ip) for ip in _addresses(to)) and all(map(is_public, _addresses(first)))


def _addresses(url: str) -> list[str]:
    """Return the IP addresses of a host, none where its name is known to a proxy alone."""
    try:
        found = socket.getaddrinfo(urlsplit(url).hostname, None, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        return []
    return [str(entry[4][0]) for entry in found]


def _without_password(request: requests.PreparedRequest) -> requests.PreparedRequest:
    """Return a request as it is: where nothing is set, requests looks for a password in ~/.netrc."""
    return request
