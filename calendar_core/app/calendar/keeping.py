"""Calendars kept for subscribers: made anew when something new is known, never because one asks."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING

from alerts.outbox.standing import warnings_since
from calendar_core.app.calendar.publishing import moves_bytes, publish
from calendar_core.app.plan.kept_plan import made_for
from calendar_core.app.warnings.stored_warnings import RETURNS_KEPT
from calendar_core.planning.events import KINDS, CalendarOf
from calendar_core.storage import calendar_addresses, calendar_places, calendar_texts, kept

if TYPE_CHECKING:
    from collections.abc import Collection
    from uuid import UUID

    from sqlalchemy import Connection

    from calendar_core.app.shell.session import Session
    from calendar_core.storage.calendar_texts import CalendarText

MOVES = CalendarOf("moves")
OF_GARDEN = tuple(CalendarOf(kind) for kind in KINDS if kind != "tree")
"""The calendars of a garden that are sent to its places."""


def wanted(connection: Connection, garden_id: UUID) -> set[CalendarOf]:
    """Return the calendars that somebody subscribes to, or that are sent somewhere."""
    live = calendar_addresses.list_addresses(connection, garden_id)
    asked = {address.of for address in live if address.revoked_at is None}
    return asked | set(OF_GARDEN if calendar_places.list_places(connection, garden_id) else ())


def calendar_now(session: Session, of: CalendarOf) -> CalendarText:
    """Return a calendar as subscribers are told of it: as it is kept, or made where it never was."""
    with session.store.read() as connection:
        text = calendar_texts.get_text(connection, session.garden.id, of)
    if text is None:
        _make(session, {of})
        with session.store.read() as connection:
            text = calendar_texts.get_text(connection, session.garden.id, of)
    if text is None:
        raise AssertionError(f"the calendar of {of} was made and is not there")
    return text


def keep_moves(session: Session) -> None:
    """Make the calendar of moves anew if a warning, or what its moves rest on, changed."""
    if MOVES in _stale(session):
        _make(session, {MOVES})


def keep_calendars(session: Session) -> bool:
    """Publish if a day, weather, an entry or a warning is new; tell whether it was needed. What fails leaves all as it was."""
    stale = _stale(session) - {MOVES}
    if stale:
        with session.store.read() as connection:
            _make(session, wanted(connection, session.garden.id) - {MOVES})
    return bool(stale)


def _stale(session: Session) -> set[CalendarOf]:
    """Return the wanted calendars that are not kept, or were made from something else than is known now."""
    with session.store.read() as connection:
        asked = wanted(connection, session.garden.id)
        if not asked:
            return set()
        made = calendar_texts.made_from(connection, session.garden.id)
        mark = _mark(session, connection)
    return {of for of in asked if made.get(str(of)) != mark}


def _make(session: Session, some: Collection[CalendarOf]) -> None:
    with (
        session.store.read() as connection
    ):  # before anything is read: what is new afterwards makes them anew
        mark = _mark(session, connection)
    if MOVES in some:
        made = {MOVES: moves_bytes(session)}
        with session.store.begin() as connection:
            calendar_texts.put_texts(connection, session.garden.id, made, mark, session.clock.now)
    rest = set(some) - {MOVES}
    if rest:
        publish(session, keep=rest, made_from=mark)


def _mark(session: Session, connection: Connection) -> str:
    """Return a mark of all that a calendar rests on: what a plan does, the log, and the warnings as they stand."""
    garden_id, now = session.garden.id, session.clock.now
    warnings = [
        (
            warning.id,
            warning.revision,
            warning.state,
            warning.expires > now,
            json.dumps(warning.data, sort_keys=True),
        )
        for warning in warnings_since(connection, garden_id, now - RETURNS_KEPT)
    ]
    rests_on = made_for(session, connection), kept.log_length(connection, garden_id), warnings
    return hashlib.sha256(repr(rests_on).encode()).hexdigest()
