"""The durable queue: a message is claimed with a lease, tried, and settled; a crash repeats it, never loses it.

`Store.begin` lets one writer in at a time on both databases, so a conditional update is claim enough.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Literal
from uuid import UUID, uuid5

from sqlalchemy import and_, exists, literal, or_, select, update

from alerts.notices import Channel, Message, Notice, Permanent, Result, Retry, Sent, as_data, from_data
from alerts.outbox.channels import list_channels, switch_off
from calendar_core.storage.rows import columns, insert
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy import ColumnElement, Connection

MessageState = Literal["pending", "sending", "sent", "dead", "superseded", "lapsed"]

LEASE = timedelta(minutes=5)
"""How long a claimed message is left to its holder; longer than any delivery takes (estimate)."""
FIRST_GAP_S, LONGEST_GAP_S, JITTER = 30.0, 3600.0, 0.25
"""Gaps between tries double from the first to the longest, and grow by up to the jitter (common practice)."""

_row = tables.message.c
_newer = tables.message.alias("newer")
_OPEN = ("pending", "sending")
_perhaps_told = or_(_row.told, _row.state == "sending")  # who was killed while sending may have sent


@dataclass(frozen=True, slots=True)
class Claim:
    """A message that ``holder`` alone may send until the lease is over; ``tries`` counts this one."""

    message: Message
    holder: str
    tries: int


@dataclass(frozen=True, slots=True)
class Listed:
    """A message as it stands in the queue, for people to see."""

    id: UUID
    channel_id: UUID
    warning_id: UUID
    revision: int
    action: str
    state: MessageState
    due_at: datetime
    expires: datetime
    tries: int
    last_error: str
    sent_at: datetime | None


def post(
    connection: Connection,
    garden_id: UUID,
    notice: Notice,
    now: datetime,
    due: Callable[[Channel], datetime | None] | None = None,
) -> int:
    """Queue a notice for every channel of a garden that is on; a withdrawal only where the warning was told.

    ``due`` says from when a channel may be used, after its quiet hours for instance, None for not at all; without it
    that is now.
    Returns the number of messages. Posting the same again adds none.
    """
    channels = [channel for channel in list_channels(connection, garden_id) if not channel.why_off]
    if notice.action == "withdraw":
        told = _told_channels(connection, notice.warning_id)
        channels = [channel for channel in channels if channel.id in told]
    moments = {channel.id: due(channel) if due else now for channel in channels}
    rows = [
        {
            "id": uuid5(channel.id, f"{notice.warning_id}:{notice.revision}:{notice.action}"),
            "garden_id": garden_id,
            "channel_id": channel.id,
            "warning_id": notice.warning_id,
            "revision": notice.revision,
            "action": notice.action,
            "notice": as_data(notice),
            "state": "pending",
            "due_at": moments[channel.id],
            "expires": notice.expires,
            "tries": 0,
            "holder": "",
            "told": False,
            "last_error": "",
            "made_at": now,
        }
        for channel in channels
        if moments[channel.id] is not None
    ]
    _supersede(connection, notice)
    if not rows:
        return 0
    adding = insert(connection, tables.message).values(rows).on_conflict_do_nothing().returning(_row.id)
    return len(connection.execute(adding).all())


def claim(connection: Connection, holder: str, now: datetime) -> Claim | None:
    """Take the next message that is due, or whose holder has let the lease run out; None if there is none.

    The caller commits before it sends.
    """
    tidy(connection, now)
    on = exists().where(tables.channel.c.id == _row.channel_id, tables.channel.c.why_off == "")
    next_id = select(_row.id).where(_row.state.in_(_OPEN), _row.due_at <= now, on)
    row = connection.execute(
        update(tables.message)
        .where(_row.id == next_id.order_by(_row.due_at, _row.id).limit(1).scalar_subquery())
        .values(state="sending", holder=holder, due_at=now + LEASE, tries=_row.tries + 1, told=_perhaps_told)
        .returning(_row.id, _row.channel_id, _row.warning_id, _row.revision, _row.notice, _row.tries)
    ).first()
    if row is None:
        return None
    channel = select(*columns(tables.channel, Channel)).where(tables.channel.c.id == row.channel_id)
    earlier = select(_row.id).where(
        _row.warning_id == row.warning_id,
        _row.channel_id == row.channel_id,
        _row.revision < row.revision,
        _perhaps_told,
    )
    message = Message(
        row.id,
        Channel(*connection.execute(channel).one()),
        from_data(row.notice),
        tuple(connection.execute(earlier.order_by(_row.revision)).scalars()),
    )
    return Claim(message, holder, row.tries)


def settle(connection: Connection, claim: Claim, result: Result, now: datetime) -> bool:
    """Write down how a try went; False when the lease was over and another holder has the message.

    After `Permanent` the channel is off. After `Retry` the channel's other messages wait as long, so that
    one dead server holds up a round only once.
    """
    message = claim.message
    mine = and_(_row.id == message.id, _row.state == "sending", _row.holder == claim.holder)
    values: dict[str, object]
    match result:
        case Sent():
            values = {"state": "sent", "sent_at": now, "last_error": "", "told": True}
        case Permanent(why):
            values = {"state": "dead", "last_error": why}
        case Retry(why, after_s, unsure):
            due_at = now + timedelta(seconds=gap_s(claim, after_s, now))
            values = {
                "state": "pending",
                "due_at": due_at,
                "last_error": why,
                "told": or_(_row.told, literal(unsure)),
            }
    settled = connection.execute(update(tables.message).where(mine).values(**values)).rowcount == 1
    if settled and isinstance(result, Permanent):
        switch_off(connection, message.channel.id, result.why)
    if settled and isinstance(result, Retry):
        _hold_back(connection, message.channel.id, values["due_at"])
    return settled


def gap_s(claim: Claim, after_s: float, now: datetime) -> float:
    """Return the seconds until the next try [s].

    At most half of what is left, so that there is a try before it is too late; but never less than the first
    gap or what the other side asked for, even if the message lapses in the meantime.
    """
    # The jitter comes from the id: the same for the same message and try, different between messages.
    share = uuid5(claim.message.id, str(claim.tries)).int % 1000 / 1000
    grown = min(FIRST_GAP_S * 2.0 ** min(claim.tries - 1, 20), LONGEST_GAP_S) * (1.0 + JITTER * share)
    left_s = (claim.message.notice.expires - now).total_seconds()
    return max(FIRST_GAP_S, after_s, min(grown, left_s / 2))


def tidy(connection: Connection, now: datetime) -> None:
    """Close messages that are too late, or behind a newer revision on their channel, unless one is being sent."""
    free = or_(_row.state == "pending", and_(_row.state == "sending", _row.due_at <= now))
    newer = exists().where(
        _newer.c.warning_id == _row.warning_id,
        _newer.c.channel_id == _row.channel_id,
        _newer.c.revision > _row.revision,
    )
    connection.execute(
        update(tables.message).where(free, newer).values(state="superseded", told=_perhaps_told)
    )
    connection.execute(
        update(tables.message).where(free, _row.expires <= now).values(state="lapsed", told=_perhaps_told)
    )


def list_messages(connection: Connection, garden_id: UUID) -> tuple[Listed, ...]:
    """Return the messages of a garden, oldest first."""
    chosen = select(*columns(tables.message, Listed)).where(_row.garden_id == garden_id)
    rows = connection.execute(chosen.order_by(_row.made_at, _row.revision, _row.id))
    return tuple(Listed(*row) for row in rows)


def _told_channels(connection: Connection, warning_id: UUID) -> set[UUID]:
    told = select(_row.channel_id).where(_row.warning_id == warning_id, _perhaps_told)
    return set(connection.execute(told).scalars())


def _supersede(connection: Connection, notice: Notice) -> None:
    """Close waiting messages of older revisions, also on channels that get no message now."""
    older: ColumnElement[bool] = and_(
        _row.warning_id == notice.warning_id, _row.revision < notice.revision, _row.state == "pending"
    )
    connection.execute(update(tables.message).where(older).values(state="superseded"))


def drop_digests(connection: Connection, garden_id: UUID) -> None:
    """Close digests that wait: what they say of the night is no longer so."""
    waiting = and_(_row.garden_id == garden_id, _row.action == "digest", _row.state == "pending")
    connection.execute(update(tables.message).where(waiting).values(state="superseded"))


def _hold_back(connection: Connection, channel_id: UUID, until: object) -> None:
    waiting = and_(_row.channel_id == channel_id, _row.state == "pending", _row.due_at < until)
    connection.execute(update(tables.message).where(waiting).values(due_at=until))
