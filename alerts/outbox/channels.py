"""The channels of a garden: added, listed, switched off with the reason."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import delete, select, update

from alerts.notices import Channel
from calendar_core.storage.errors import StoreError
from calendar_core.storage.rows import columns, insert, record
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from datetime import time
    from uuid import UUID

    from sqlalchemy import Connection


def add_channel(connection: Connection, channel: Channel) -> None:
    """Store a channel. Raises StoreError when the garden has one of its kind and address."""
    adding = insert(connection, tables.channel).values(record(channel)).on_conflict_do_nothing()
    if connection.execute(adding.returning(tables.channel.c.id)).first() is None:
        raise StoreError(f"the garden has this {channel.kind} channel already: name another address")


def list_channels(connection: Connection, garden_id: UUID) -> tuple[Channel, ...]:
    """Return the channels of a garden, on and off, by kind and address."""
    table = tables.channel
    chosen = select(*columns(table, Channel)).where(table.c.garden_id == garden_id)
    return tuple(Channel(*row) for row in connection.execute(chosen.order_by(table.c.kind, table.c.address)))


def switch_off(connection: Connection, channel_id: UUID, why: str) -> None:
    """Send nothing more over a channel, and keep the reason."""
    _set_why_off(connection, channel_id, why)


def switch_on(connection: Connection, channel_id: UUID) -> None:
    """Use a channel again; what waits for it and has not lapsed is sent."""
    _set_why_off(connection, channel_id, "")


def set_quiet(connection: Connection, channel_id: UUID, begins: time | None, ends: time | None) -> None:
    """Set a channel's quiet hours, None for none."""
    table = tables.channel
    values = {"quiet_from": begins, "quiet_to": ends}
    connection.execute(update(table).where(table.c.id == channel_id).values(**values))


def remove_channel(connection: Connection, channel_id: UUID) -> None:
    """Forget a channel and its messages."""
    connection.execute(delete(tables.channel).where(tables.channel.c.id == channel_id))


def _set_why_off(connection: Connection, channel_id: UUID, why: str) -> None:
    table = tables.channel
    connection.execute(update(table).where(table.c.id == channel_id).values(why_off=why))
