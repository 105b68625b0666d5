"""Calendars in memory as they are sent: looked at again every few seconds, and made by nobody who asks but the first."""

from __future__ import annotations

import gzip
from contextlib import suppress
from dataclasses import dataclass, field
from email.utils import format_datetime
from threading import Lock
from time import monotonic
from typing import TYPE_CHECKING

from calendar_core.app.calendar.addresses import note_use
from calendar_core.app.calendar.keeping import calendar_now
from calendar_core.app.shell.session import Session
from calendar_core.storage import calendar_addresses, calendar_texts, gardens
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from uuid import UUID

    from starlette.requests import Request

    from calendar_core.app.shell.clock import Clock
    from calendar_core.planning.events import CalendarOf
    from calendar_core.storage.calendar_addresses import CalendarAddress
    from calendar_core.storage.calendar_texts import CalendarText
    from calendar_core.storage.engine import Store

LOOKED_S = 2.0
"""Seconds for which an address is answered from memory: a revocation by another process holds after them (estimate)."""
REFRESH_S = 3600
"""Seconds for which a reader may keep what it has (estimate: readers ask every 15 minutes to 24 hours)."""
PACKING = 6  # gzip's usual level

RawHeaders = tuple[tuple[bytes, bytes], ...]


@dataclass(frozen=True, slots=True)
class Representation:
    """A calendar's bytes as one coding sends them, with the headers of an answer with and without them."""

    tag: str
    body: bytes
    headers: RawHeaders
    unchanged: RawHeaders


@dataclass(frozen=True, slots=True)
class ReadyCalendar:
    """A calendar plain and packed; both change at one moment."""

    tag: str
    modified_at: datetime
    plain: Representation
    packed: Representation


@dataclass(frozen=True, slots=True)
class Answerable:
    """An address that is known; ``calendar`` is None where it is revoked."""

    address: CalendarAddress
    calendar: ReadyCalendar | None
    looked: float


class BusyError(Exception):
    """The calendar is being made for somebody else who asked."""


@dataclass
class ReadyCalendars:
    """The calendars of a database as their addresses are answered, by the hash of the secret.

    ``clock_of`` gives the clock of a zone.
    """

    store: Store
    clock_of: Callable[[str], Clock]
    _known: dict[str, Answerable] = field(default_factory=dict, init=False)
    _ready: dict[tuple[UUID, CalendarOf], ReadyCalendar] = field(default_factory=dict, init=False)
    _making: Lock = field(default_factory=Lock, init=False)

    def at_once(self, secret_hash: str) -> Answerable | None:
        """Return what was known a moment ago; None where it has to be looked at."""
        known = self._known.get(secret_hash)
        return known if known is not None and monotonic() - known.looked < LOOKED_S else None

    def look(self, secret_hash: str) -> Answerable | None:
        """Return what is known now, None of an address that there is not; the last good copy where this fails.

        Raises
        ------
        Exception
            Whatever keeps the calendar from being read or made, where there is no copy.
        """
        before = self._known.get(secret_hash)
        try:
            known = self._looked_up(secret_hash)
        except Exception:
            if before is None:
                raise
            known = Answerable(before.address, before.calendar, monotonic())
        if known is None:
            self._known.pop(secret_hash, None)
        else:
            self._known[secret_hash] = known
        return known

    def forget(self) -> None:
        """Look at every address anew: one was revoked."""
        self._known.clear()

    def note_use(self, known: Answerable) -> None:
        """Note that an address is used; a database that is busy need not know."""
        with suppress(StoreError):
            note_use(self.store, known.address, self.clock_of("UTC").now)

    def _looked_up(self, secret_hash: str) -> Answerable | None:
        with self.store.read() as connection:
            address = calendar_addresses.find_address(connection, secret_hash)
            if address is None:
                return None
            if address.revoked_at is not None:
                return Answerable(address, None, monotonic())
            tag = calendar_texts.tag_of(connection, address.garden_id, address.of)
        return Answerable(address, self._calendar(address, tag), monotonic())

    def _calendar(self, address: CalendarAddress, tag: str) -> ReadyCalendar:
        key = (address.garden_id, address.of)
        ready = self._ready.get(key)
        if ready is None or ready.tag != tag:
            ready = self._ready[key] = made_ready(self._text(address), address.kind)
        return ready

    def _text(self, address: CalendarAddress) -> CalendarText:
        """Return a calendar as it is kept; the first who asks for one that was never made waits until it is."""
        with self.store.read() as connection:
            text = calendar_texts.get_text(connection, address.garden_id, address.of)
            garden = gardens.garden_of(connection, address.garden_id)
        if text is not None:
            return text
        if not self._making.acquire(blocking=False):
            raise BusyError
        try:
            return calendar_now(Session(self.store, garden, self.clock_of(garden.zone)), address.of)
        finally:
            self._making.release()


def calendars_of(request: Request) -> ReadyCalendars:
    """Return the calendars in memory of the service that is asked."""
    found: ReadyCalendars = request.app.state.calendars
    return found


def made_ready(text: CalendarText, kind: str) -> ReadyCalendar:
    """Return a calendar as it is sent, with all its headers.

    Each coding has a tag of its own, since a strong one stands for bytes (RFC 9110 8.8.3.3).
    """
    about = (
        ("cache-control", f"private, max-age={REFRESH_S}"),
        ("vary", "Accept-Encoding"),
        ("last-modified", format_datetime(text.modified_at, usegmt=True)),
    )
    content = (
        ("x-robots-tag", "noindex, nofollow"),
        ("referrer-policy", "no-referrer"),
        ("x-content-type-options", "nosniff"),
        ("content-type", "text/calendar; charset=utf-8"),
        ("content-disposition", f'inline; filename="leafclock-{kind}.ics"'),
    )

    def coded(tag: str, body: bytes, *coding: tuple[str, str]) -> Representation:
        own = (("etag", tag), *about)
        sent = (*own, *content, *coding, ("content-length", str(len(body))))
        return Representation(tag, body, _raw(*sent), _raw(*own))

    packed = gzip.compress(text.data, PACKING, mtime=0)
    return ReadyCalendar(
        text.etag,
        text.modified_at,
        coded(f'"{text.etag}"', text.data),
        coded(f'"{text.etag}-gzip"', packed, ("content-encoding", "gzip")),
    )


def _raw(*headers: tuple[str, str]) -> RawHeaders:
    return tuple((name.encode("latin-1"), value.encode("latin-1")) for name, value in headers)
