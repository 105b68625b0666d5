"""A connection that ends by a deadline, to addresses that may be reached."""

from __future__ import annotations

import socket
import threading
from contextlib import contextmanager, suppress
from time import monotonic
from typing import TYPE_CHECKING

from alerts.notices import one_line
from calendar_core.weather.sources.hosts import is_public

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

CONNECT_S = 10.0
"""Seconds for one step on the line: connecting, or waiting for an answer (common practice)."""
DEADLINE_S = 60.0
"""Seconds for a whole delivery, well within the queue's lease; a timeout alone lets a dripping answer last."""


class PrivateAddressError(Exception):
    """The host is on this machine or its network, and that was not allowed."""


def reachable(host: str, port: int, *, private_ok: bool) -> list[str]:
    """Return the IP addresses of a host. To be connected to as they are: a second look may find others.

    Raises
    ------
    PrivateAddressError
        When one of them is not public and ``private_ok`` is false.
    OSError
        When the name is not known.
    """
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    addresses = [str(entry[4][0]) for entry in found]
    if not private_ok and not all(map(is_public, addresses)):
        raise PrivateAddressError(
            f"{host} is on this machine or its network: allow that when adding the channel"
        )
    return addresses


def connected(
    host: str, port: int, timeout_s: float, deadline_s: float, *, private_ok: bool
) -> socket.socket:
    """Return a line to the first of a host's addresses that takes one, each given ``timeout_s``, all ``deadline_s``.

    Raises
    ------
    PrivateAddressError
        As `reachable` does.
    OSError
        When the name is not known, or no address takes the line in time.
    """
    ends = monotonic() + deadline_s
    failure: OSError = OSError(f"{host} has no address")
    for address in reachable(host, port, private_ok=private_ok):
        left_s = ends - monotonic()
        if left_s <= 0.0:
            raise failure
        try:
            return socket.create_connection((address, port), min(timeout_s, left_s))
        except OSError as error:
            failure = error
    raise failure


@contextmanager
def ends_by(deadline_s: float, current: Callable[[], socket.socket | None]) -> Iterator[None]:
    """Hang up the socket that ``current`` gives if the block lasts longer; what waits on it raises."""
    timer = threading.Timer(deadline_s, lambda: _hang_up(current()))
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()


def _hang_up(line: socket.socket | None) -> None:
    if line is not None:
        with suppress(OSError):  # gone already
            socket.socket.shutdown(line, socket.SHUT_RDWR)  # below TLS, whose own goodbye could wait


def said_of(error: Exception) -> str:
    """Return what an error says, on one short line."""
    text = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return one_line(text) or type(error).__name__
