"""The channels of a garden: added, listed, how they fail, and switched off with the reason."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from sqlalchemy import delete, select, update

from alerts.notices import Channel
from calendar_core.storage.errors import StoreError
from calendar_core.storage.rows import columns, insert, record
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from datetime import datetime, time
    from uuid import UUID

    from sqlalchemy import Connection

REFUSALS, APART = 12, timedelta(hours=1)
"""A refusal is believed when it came so often, each so long after the one before, and nothing was taken in between.

Estimate: a receiver that restarts, a line that is down and a full box are mended within half a day; an hour is the
longest gap between tries. Hours are counted one by one, so that a clock that jumps is no more than one of them.
"""
CUT_OFF_AFTER = timedelta(hours=3)
"""A channel that fails for so long is told of (estimate: a restart is over, and a night's frost is still ahead)."""


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


def is_cut_off(channel: Channel, now: datetime) -> bool:
    """Tell whether a channel has failed for so long that whom it reaches must be thought unwarned.

    One that is switched off by hand is not.
    """
    since = channel.failing_since
    return since is not None and (bool(channel.why_off) or now - since >= CUT_OFF_AFTER)


def works(channel: Channel, now: datetime) -> bool:
    """Tell whether a channel is thought to reach its person."""
    return not channel.why_off and not is_cut_off(channel, now)


def reaches_nobody(channels: tuple[Channel, ...], now: datetime) -> bool:
    """Tell whether a garden has channels and all are off or cut off; helpers count where there is nobody else."""
    meant = [channel for channel in channels if not channel.while_away] or channels
    return bool(meant) and not any(works(channel, now) for channel in meant)


def after_failure(channel: Channel, why: str, now: datetime, *, refused: bool) -> Channel:
    """Return a channel after a try that failed; ``refused`` as if for good, which switches it off in the end."""
    if channel.why_off:
        return channel
    # A clock that ran ahead must not make a failure begin in days to come.
    failing = replace(channel, failing_since=min(channel.failing_since or now, now), why_failing=why)
    if not refused or (channel.refused_at is not None and abs(now - channel.refused_at) < APART):
        return failing
    refusals = channel.refusals + 1
    return replace(failing, refused_at=now, refusals=refusals, why_off=why if refusals >= REFUSALS else "")


def after_success(channel: Channel) -> Channel:
    """Return a channel over which a message was taken."""
    return replace(channel, failing_since=None, why_failing="", refused_at=None, refusals=0)


def note_failure(connection: Connection, channel_id: UUID, why: str, now: datetime, *, refused: bool) -> None:
    """Store that a try failed."""
    for channel in _stored(connection, channel_id):
        _store(connection, channel, after_failure(channel, why, now, refused=refused))


def note_gone(connection: Connection, channel_id: UUID, why: str, now: datetime) -> None:
    """Store that a channel leads nowhere any more, and send nothing more over it."""
    for channel in _stored(connection, channel_id):
        failing = after_failure(channel, why, now, refused=False)
        _store(connection, channel, replace(failing, why_off=channel.why_off or why, gone=True))


def note_success(connection: Connection, channel_id: UUID) -> None:
    """Store that a message was taken."""
    for channel in _stored(connection, channel_id):
        _store(connection, channel, after_success(channel))


def switch_off(connection: Connection, channel_id: UUID, why: str) -> None:
    """Send nothing more over a channel, and keep the reason."""
    for channel in _stored(connection, channel_id):
        _store(connection, channel, replace(after_success(channel), why_off=why))


def switch_on(connection: Connection, channel_id: UUID) -> None:
    """Use a channel again; what waits for it and has not lapsed is sent."""
    switch_off(connection, channel_id, "")


def renew(connection: Connection, channel_id: UUID, address: str, secret: str, person: str) -> None:
    """Let a channel lead to where its browser has subscribed anew; one that was gone is on again."""
    for channel in _stored(connection, channel_id):
        working = replace(after_success(channel), why_off="" if channel.gone else channel.why_off, gone=False)
        _store(connection, channel, replace(working, address=address, secret=secret, person=person))


def set_quiet(connection: Connection, channel_id: UUID, begins: time | None, ends: time | None) -> None:
    """Set a channel's quiet hours, None for none."""
    for channel in _stored(connection, channel_id):
        _store(connection, channel, replace(channel, quiet_from=begins, quiet_to=ends))


def remove_channel(connection: Connection, channel_id: UUID) -> None:
    """Forget a channel and its messages."""
    connection.execute(delete(tables.channel).where(tables.channel.c.id == channel_id))


def _stored(connection: Connection, channel_id: UUID) -> list[Channel]:
    """Return the channel of an id; none where it was removed meanwhile."""
    table = tables.channel
    rows = connection.execute(select(*columns(table, Channel)).where(table.c.id == channel_id))
    return [Channel(*row) for row in rows]


def _store(connection: Connection, before: Channel, after: Channel) -> None:
    if after != before:
        table = tables.channel
        connection.execute(update(table).where(table.c.id == after.id).values(record(after)))
