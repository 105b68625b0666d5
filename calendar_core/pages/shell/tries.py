"""Wrong keys: so many are answered, then who goes on has to wait."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, field
from datetime import timedelta
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

    def wait_s(self, address: str, now: datetime) -> int:
        """Return how long an address has to wait before it may try again [s], 0 where it may."""
        with self._lock:
            mine = [at for at in self._by.get(address, ()) if now - at < WITHIN]
            every = sorted(at for tries in self._by.values() for at in tries[-MOST:] if now - at < WITHIN)
        begins = [some[-most] for some, most in ((mine, MOST), (every, MOST_ALL)) if len(some) >= most]
        return max((int((at + WITHIN - now).total_seconds()) + 1 for at in begins), default=0)

    def note(self, address: str, now: datetime) -> None:
        """Count a wrong try."""
        with self._lock:
            self._by[address] = [*self._by.pop(address, [])[-MOST:], now]
            if len(self._by) > REMEMBERED:
                self._by.popitem(last=False)
