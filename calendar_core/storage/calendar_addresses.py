"""Secret addresses at which calendars are subscribed to; of the secret only its hash is stored.

They are no part of an exported garden: whoever holds an export could otherwise not be kept from them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID

from sqlalchemy import select, update

from calendar_core.planning.events import CalendarKind, CalendarOf
from calendar_core.storage.rows import columns, record, upsert
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from sqlalchemy import Connection

USE_NOTED = timedelta(
    days=1
)  # that an address is used is written down so often: readers ask every few minutes
_address = tables.calendar_address


@dataclass(frozen=True, slots=True)
class CalendarAddress:
    """An address and the calendar behind it; ``secret_hash`` is the SHA-256 of its secret in hexadecimal digits."""

    id: UUID
    garden_id: UUID
    kind: CalendarKind
    tree_id: UUID | None
    label: str
    secret_hash: str
    created_at: datetime
    last_used: datetime | None = None
    revoked_at: datetime | None = None

    @property
    def of(self) -> CalendarOf:
        """The calendar that is read there."""
        return CalendarOf(self.kind, self.tree_id)


def add_address(connection: Connection, address: CalendarAddress) -> None:
    """Store a new address."""
    upsert(connection, _address, [record(address)])


def list_addresses(connection: Connection, garden_id: UUID) -> tuple[CalendarAddress, ...]:
    """Return the addresses of a garden, revoked ones too, the oldest first."""
    chosen = select(*columns(_address, CalendarAddress)).where(_address.c.garden_id == garden_id)
    rows = connection.execute(chosen.order_by(_address.c.created_at, _address.c.id))
    return tuple(CalendarAddress(*row) for row in rows)


def find_address(connection: Connection, secret_hash: str) -> CalendarAddress | None:
    """Return the address of a secret, None where there is none."""
    chosen = select(*columns(_address, CalendarAddress)).where(_address.c.secret_hash == secret_hash)
    row = connection.execute(chosen).first()
    return None if row is None else CalendarAddress(*row)


def revoke_address(connection: Connection, address_id: UUID, now: datetime) -> None:
    """Note that an address is no longer to be used; it stays known, so that readers are told so."""
    here = _address.c.id == address_id, _address.c.revoked_at.is_(None)
    connection.execute(update(_address).where(*here).values(revoked_at=now))


def note_use(connection: Connection, address_id: UUID, now: datetime) -> None:
    """Note when an address was used last."""
    connection.execute(update(_address).where(_address.c.id == address_id).values(last_used=now))
