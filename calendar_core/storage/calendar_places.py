"""Folders and web folders that calendars are written to whenever they change.

They are no part of an exported garden: another machine has other folders, and their logins are secrets.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any
from uuid import UUID

from sqlalchemy import delete, select, update

from calendar_core.storage.rows import columns, insert, record
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sqlalchemy import Connection

_place = tables.calendar_place


@dataclass(frozen=True, slots=True)
class CalendarPlace:
    """A place; ``login`` is USER:PASSWORD or "", ``sent`` the tag of each calendar that is there, by what it holds."""

    id: UUID
    garden_id: UUID
    place: str
    login: str
    added_at: datetime
    sent: Mapping[str, Any]
    why_failing: str = ""


def put_place(connection: Connection, place: CalendarPlace) -> bool:
    """Store a place, or a new login of one that is known; False where it is another garden's."""
    adding = insert(connection, _place).values(record(place, sent=dict(place.sent)))
    mine = _place.c.garden_id == place.garden_id
    again = adding.on_conflict_do_update(
        index_elements=["place"], set_={"login": place.login, "sent": {}}, where=mine
    )
    return connection.execute(again.returning(_place.c.id)).first() is not None


def list_places(connection: Connection, garden_id: UUID) -> tuple[CalendarPlace, ...]:
    """Return the places that a garden's calendars are written to, by name."""
    chosen = select(*columns(_place, CalendarPlace)).where(_place.c.garden_id == garden_id)
    return tuple(CalendarPlace(*row) for row in connection.execute(chosen.order_by(_place.c.place)))


def remove_place(connection: Connection, garden_id: UUID, place: str) -> bool:
    """Forget a place, and tell whether it was known; what was written there stays."""
    gone = delete(_place).where(_place.c.garden_id == garden_id, _place.c.place == place)
    return connection.execute(gone.returning(_place.c.id)).first() is not None


def note_sent(connection: Connection, place_id: UUID, sent: Mapping[str, str], why_failing: str = "") -> None:
    """Note what is at a place now, and what kept the rest from it."""
    values = {"sent": dict(sent), "why_failing": why_failing}
    connection.execute(update(_place).where(_place.c.id == place_id).values(values))
