"""Wrong keys: so many are answered, then who goes on has to wait."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, field
from datetime import timedelta
from ipaddress import ip_address, ip_network
from threading import Lock
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

MOST, WITHIN = 10, timedelta(minutes=10)
"""Wrong tries of one address (estimate: a grower who mistypes needs fewer; a password of four words takes for ever)."""
MOST_ALL = 100
"""Wrong tries of all addresses together in the same time (estimate), for one who asks from many."""
REMEMBERED = 10_000  # addresses


@dataclass
class WrongTries:
    """Counts wrong tries by address; nothing is stored."""

    _by: OrderedDict[str, list[datetime]] = field(default_factory=OrderedDict, repr=False)
    _lock: Lock = field(default_factory=Lock, repr=False)
    turn: Lock = field(default_factory=Lock, repr=False)
    """Held by the one try that is looked at: thirty at once would each be let through, and take 64 MB each."""

    def wait_s(self, address: str, now: datetime) -> int:
        """Return how long an address has to wait before it may try again [s], 0 where it may."""
        address = network_of(address)
        with self._lock:
            mine = [at for at in self._by.get(address, ()) if now - at < WITHIN]
            every = sorted(at for tries in self._by.values() for at in tries[-MOST:] if now - at < WITHIN)
        begins = [some[-most] for some, most in ((mine, MOST), (every, MOST_ALL)) if len(some) >= most]
        return max((int((at + WITHIN - now).total_seconds()) + 1 for at in begins), default=0)

    def note(self, address: str, now: datetime) -> None:
        """Count a wrong try."""
        address = network_of(address)
        with self._lock:
            self._by[address] = [*self._by.pop(address, [])[-MOST:], now]
            if len(self._by) > REMEMBERED:
                self._by.popitem(last=False)


def network_of(address: str) -> str:
    """Return what is counted as one asker: whoever has one address of IPv6 has a whole /64 of them (RFC 6177).

    >>> network_of("2001:db8::1") == network_of("2001:db8::ffff"), network_of("192.0.2.7")
    (True, '192.0.2.7')
    """
    try:
        found = ip_address(address)
    except ValueError:
        return address
    return str(ip_network((found, 64), strict=False)) if found.version == 6 else address
