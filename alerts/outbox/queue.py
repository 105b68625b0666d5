"""The durable queue: a message is claimed with a lease, tried, and settled; a crash repeats it, never loses it.

`Store.begin` lets one writer in at a time on both databases, so a conditional update is claim enough.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Literal
from uuid import UUID, uuid5

from sqlalchemy import and_, bindparam, case, exists, literal, not_, or_, select, update

from alerts.notices import Channel, Gone, Message, Notice, Refused, Result, Retry, Sent, as_data, from_data
from alerts.outbox.channels import list_channels, note_failure, note_gone, note_success
from alerts.outbox.envelope import addressed
from alerts.policy.cap import DANGER_SEVERITIES
from calendar_core.storage.rows import columns, insert
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable

    from sqlalchemy import Connection

MessageState = Literal["pending", "sending", "sent", "superseded", "lapsed"]

LEASE = timedelta(minutes=5)
"""How long a claimed message is left to its holder; longer than any delivery takes (estimate)."""
FIRST_GAP_S, LONGEST_GAP_S, JITTER = 30.0, 3600.0, 0.25
"""Gaps between tries double from the first to the longest, and grow by up to the jitter (common practice)."""
SKEW = timedelta(minutes=5)
"""So far two clocks may differ; what was written later than that from now on, a clock that was wrong wrote (estimate)."""

_row = tables.message.c
_newer, _other = tables.message.alias("newer"), tables.message.alias("other")
_OPEN, _UNSENT = ("pending", "sending"), ("pending", "lapsed")
_perhaps_told = or_(_row.told, _row.state == "sending")  # who was killed while sending may have sent
_severity = _row.notice["severity"].as_string()
_rank = case(
    (and_(_row.action.in_(("new", "update")), _severity.in_(DANGER_SEVERITIES)), 0),
    (_row.action == "digest", 2),
    else_=1,
)


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
    """Queue a notice for every channel of a garden; a withdrawal only where the warning was told.

    For a channel that is off it waits until that is on again, or it lapses.
    ``due`` says from when a channel may be used, after its quiet hours for instance, None for not at all; without it
    that is now.
    Returns the number of messages. Posting the same again adds none.
    """
    channels: Collection[Channel] = list_channels(connection, garden_id)
    if notice.action == "withdraw":
        told = told_channels(connection, notice.warning_id)
        channels = [channel for channel in channels if channel.id in told]
    moments = {channel: due(channel) if due else now for channel in channels}
    _supersede(connection, notice)
    return _add(connection, notice, moments, now)


def catch_up(
    connection: Connection,
    channel: Channel,
    notices: Iterable[Notice],
    now: datetime,
    due: Callable[[Channel, Notice], datetime | None],
) -> int:
    """Queue for one channel what it has not had of warnings that stand, and let what was tried before be due at once."""
    tried = and_(_row.channel_id == channel.id, _row.state == "pending", _row.tries > 0)
    connection.execute(update(tables.message).where(tried).values(due_at=now, touched_at=now))
    return post_missed(connection, channel, notices, now, due)


def post_missed(
    connection: Connection,
    channel: Channel,
    notices: Iterable[Notice],
    now: datetime,
    due: Callable[[Channel, Notice], datetime | None],
) -> int:
    """Queue for one channel the newest notices of warnings that stand, where it has not had them; return how many."""
    had = select(_row.warning_id, _row.revision).where(_row.channel_id == channel.id)
    newest: dict[UUID, int] = {}
    for warning_id, revision in connection.execute(had):
        newest[warning_id] = max(revision, newest.get(warning_id, revision))
    return sum(
        _add(connection, notice, {channel: due(channel, notice)}, now)
        for notice in notices
        if notice.expires > now and notice.revision > newest.get(notice.warning_id, 0)
    )


def _add(
    connection: Connection, notice: Notice, moments: dict[Channel, datetime | None], now: datetime
) -> int:
    rows = [
        {
            "id": uuid5(channel.id, f"{notice.warning_id}:{notice.revision}:{notice.action}"),
            "garden_id": channel.garden_id,
            "channel_id": channel.id,
            "warning_id": notice.warning_id,
            "revision": notice.revision,
            "action": notice.action,
            "notice": as_data(notice),
            "state": "pending",
            "due_at": moment,
            "touched_at": now,
            "onset": notice.onset,
            "expires": notice.expires,
            "tries": 0,
            "holder": "",
            "told": False,
            "last_error": "",
            "made_at": now,
        }
        for channel, moment in moments.items()
        if moment is not None
    ]
    if not rows:
        return 0
    adding = insert(connection, tables.message).values(rows).on_conflict_do_nothing().returning(_row.id)
    return len(connection.execute(adding).all())


def claim(
    connection: Connection, holder: str, now: datetime, passed_over: Collection[UUID] = ()
) -> Claim | None:
    """Take the next message that is due, or whose holder has let the lease run out; None if there is none.

    Danger goes first and digests last, of each what begins first. Nothing is taken of the channels ``passed_over``,
    nor of a warning of which another message is on its way over the same channel. At its first try a message gets
    the words that it keeps. The caller commits before it sends.
    """
    tidy(connection, now)
    on = exists().where(tables.channel.c.id == _row.channel_id, tables.channel.c.why_off == "")
    busy = exists().where(
        _other.c.warning_id == _row.warning_id,
        _other.c.channel_id == _row.channel_id,
        _other.c.id != _row.id,
        _other.c.state == "sending",
        _other.c.due_at > now,
    )
    next_id = select(_row.id).where(
        _row.state.in_(_OPEN), _row.due_at <= now, on, not_(busy), _row.channel_id.not_in(passed_over)
    )
    first = next_id.order_by(_rank, _row.onset, _row.made_at, _row.due_at, _row.id).limit(1)
    row = connection.execute(
        update(tables.message)
        .where(_row.id == first.scalar_subquery())
        .values(
            state="sending", holder=holder, due_at=now + LEASE, touched_at=now, tries=_row.tries + 1,
            told=_perhaps_told,
        )
        .returning(_row.id, _row.channel_id, _row.warning_id, _row.revision, _row.notice, _row.tries)
    ).first()  # fmt: skip
    if row is None:
        return None
    earlier = _told_before(connection, row.channel_id, row.warning_id, row.revision)
    notice = from_data(row.notice)
    if row.tries == 1:
        notice = addressed(notice, row.id, list(earlier.values()))
        kept = update(tables.message).where(_row.id == row.id)
        connection.execute(kept.values(notice=as_data(notice)))
    channel = select(*columns(tables.channel, Channel)).where(tables.channel.c.id == row.channel_id)
    to = Channel(*connection.execute(channel).one())
    return Claim(Message(row.id, to, notice, tuple(earlier)), holder, row.tries)


def _told_before(
    connection: Connection, channel_id: UUID, warning_id: UUID, revision: int
) -> dict[UUID, Notice]:
    """Return what a channel has had of a warning before a revision by the id of its message, the oldest first."""
    same = (_row.channel_id == channel_id, _row.warning_id == warning_id)
    chosen = select(_row.id, _row.notice).where(*same, _row.revision < revision, _perhaps_told)
    rows = connection.execute(chosen.order_by(_row.revision))
    return {id_: from_data(notice) for id_, notice in rows}


def settle(connection: Connection, claim: Claim, result: Result, now: datetime) -> bool:
    """Write down how a try went; False when the lease was over and another holder has the message.

    After a failure the channel's other messages wait as long, so that one dead server holds up a round only once;
    not where the fault may be this message's alone.
    """
    channel_id = claim.message.channel.id
    mine = and_(_row.id == claim.message.id, _row.state == "sending", _row.holder == claim.holder)
    settling = update(tables.message).where(mine)
    if isinstance(result, Sent):
        sent = settling.values(state="sent", sent_at=now, last_error=result.trouble, told=True)
        settled = connection.execute(sent).rowcount == 1
        if settled:
            note_success(connection, channel_id)
        return settled
    after_s, unsure = (result.after_s, result.unsure) if isinstance(result, Retry) else (0.0, False)
    gap = gap_s(claim, after_s, now)
    again = settling.values(
        state="pending",
        due_at=now + timedelta(seconds=gap),
        touched_at=now,
        last_error=result.why,
        told=or_(_row.told, literal(unsure)),
    )
    if connection.execute(again).rowcount != 1:
        return False
    text_only = isinstance(result, Refused) and result.text_only
    refused = isinstance(result, Refused) and not text_only
    if isinstance(result, Gone):
        note_gone(connection, channel_id, result.why, now)
    else:
        note_failure(connection, channel_id, result.why, now, refused=refused)
    if not text_only:
        _hold_back(connection, channel_id, gap, now)
    return True


def gap_s(claim: Claim, after_s: float, now: datetime) -> float:
    """Return the seconds until the next try [s]; ``after_s`` is the wait that the other side asks for.

    At most half of what is left to the notice's next hour, so that there is a try before it, and what is asked for at
    most the longest gap; but never less than the first gap.
    """
    # The jitter comes from the id: the same for the same message and try, different between messages.
    share = uuid5(claim.message.id, str(claim.tries)).int % 1000 / 1000
    grown = min(FIRST_GAP_S * 2.0 ** min(claim.tries - 1, 20), LONGEST_GAP_S) * (1.0 + JITTER * share)
    half = _left_s(claim.message.notice, now) / 2
    asked = min(LONGEST_GAP_S, after_s)  # also for a wait that is no number
    return max(FIRST_GAP_S, min(asked, half), min(grown, half))


def _left_s(notice: Notice, now: datetime) -> float:
    """Return the seconds to the next hour of a notice: by when to act, when it begins, when it is over [s]."""
    hours = [hour for hour in (notice.act_by, notice.onset, notice.expires) if hour is not None]
    return (min((hour for hour in hours if hour > now), default=now) - now).total_seconds()


def tidy(connection: Connection, now: datetime) -> None:
    """Close messages that are too late, or behind a newer revision on their channel, unless one is being sent.

    What a clock closed or put off that ran ahead waits again.
    """
    free = or_(_row.state == "pending", and_(_row.state == "sending", _row.due_at <= now))
    newer = exists().where(
        _newer.c.warning_id == _row.warning_id,
        _newer.c.channel_id == _row.channel_id,
        _newer.c.revision > _row.revision,
    )
    too_soon = and_(_row.state == "lapsed", _row.expires > now, not_(newer))
    connection.execute(update(tables.message).where(too_soon).values(state="pending"))
    for state, due_at in (("pending", now), ("sending", now + LEASE)):
        to_come = and_(_row.state == state, _row.touched_at > now + SKEW)
        connection.execute(update(tables.message).where(to_come).values(due_at=due_at, touched_at=now))
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


def was_posted(connection: Connection, key: tuple[UUID, int]) -> bool:
    """Tell whether a notice of an id and revision was queued for anybody."""
    warning_id, revision = key
    found = select(_row.id).where(_row.warning_id == warning_id, _row.revision == revision)
    return connection.execute(found.limit(1)).first() is not None


def told_channels(connection: Connection, warning_id: UUID) -> set[UUID]:
    """Return the channels over which a message about a warning was taken, or may have been."""
    told = select(_row.channel_id).where(_row.warning_id == warning_id, _perhaps_told)
    return set(connection.execute(told).scalars())


def _supersede(connection: Connection, notice: Notice) -> None:
    """Close messages of older revisions that were not taken, also on channels that get no message now."""
    older = and_(
        _row.warning_id == notice.warning_id, _row.revision < notice.revision, _row.state.in_(_UNSENT)
    )
    connection.execute(update(tables.message).where(older).values(state="superseded"))


def take_back(connection: Connection, warning_id: UUID, revision: int) -> None:
    """Close messages of a warning, up to a revision, that wait though nobody is to be told of it by itself any more."""
    waiting = and_(
        _row.warning_id == warning_id,
        _row.revision <= revision,
        _row.action.in_(("new", "update")),
        _row.state.in_(_UNSENT),
    )
    connection.execute(update(tables.message).where(waiting).values(state="superseded"))


def drop_digests(connection: Connection, garden_id: UUID) -> None:
    """Close digests that wait: what they say of the night is no longer so."""
    waiting = and_(_row.garden_id == garden_id, _row.action == "digest", _row.state.in_(_UNSENT))
    connection.execute(update(tables.message).where(waiting).values(state="superseded"))


def _hold_back(connection: Connection, channel_id: UUID, gap: float, now: datetime) -> None:
    """Let what waits for a channel wait on, none of it for more than half of what is left to its next hour."""
    until = now + timedelta(seconds=gap)
    waiting = and_(_row.channel_id == channel_id, _row.state == "pending", _row.due_at < until)
    held = []
    for row in connection.execute(select(_row.id, _row.due_at, _row.notice).where(waiting)):
        half = now + timedelta(seconds=_left_s(from_data(row.notice), now) / 2)
        held.append({"held": row.id, "until": max(row.due_at, min(until, half))})
    if held:
        later = update(tables.message).where(_row.id == bindparam("held"))
        connection.execute(later.values(due_at=bindparam("until"), touched_at=now), held)
