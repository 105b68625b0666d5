"""What is told of a channel that fails, and over one that comes late."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from alerts.notices import Channel, Notice, from_data
from alerts.outbox.channels import list_channels, remove_channel, works
from alerts.outbox.queue import catch_up, post, post_missed, told_channels
from alerts.policy.quiet import due_after_quiet
from calendar_core.app.warnings.mailing import leads_to
from calendar_core.app.warnings.reach import cut_off, since_when, way_to_mend
from calendar_core.app.warnings.stored_warnings import is_helped, tellers_now
from calendar_core.app.warnings.warning import due_for
from calendar_core.wording.warnings.judged_text import cut_off_told, gone_told

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy import Connection

    from alerts.outbox.standing import StandingWarning
    from calendar_core.app.shell.session import Session

TOLD_FOR = timedelta(days=1)
"""How long it is worth telling that a channel fails (estimate: by then it works, or has been seen elsewhere)."""


def tell_cut_off(session: Session, now: datetime) -> int:
    """Queue over the channels that work what fails for long, once a failure. Return the number of messages."""
    failing = [channel for channel in cut_off(session, now) if not channel.gone]
    if not failing:
        return 0
    with session.store.begin() as connection:
        return sum(_tell(session, connection, channel, now) for channel in failing)


def _tell(session: Session, connection: Connection, failing: Channel, now: datetime) -> int:
    subject, text = cut_off_told(
        session.style, session.garden.name, leads_to(failing), since_when(session, failing), failing.why_failing,
        " ".join(("leafclock", *way_to_mend(failing))), off=bool(failing.why_off),
    )  # fmt: skip
    return _tell_others(
        session, connection, uuid5(failing.id, f"fails since {failing.failing_since}"), subject, text, now
    )


def tell_gone(session: Session, now: datetime) -> int:
    """Queue over the channels that work which others lead nowhere any more, and forget those. Return the number of messages.

    Where none works they stay, switched off, so that it is seen that nobody is reached.
    """
    with session.store.read() as connection:
        known = list_channels(connection, session.garden.id)
    gone = [channel for channel in known if channel.gone]
    if not gone or not any(_is_told(channel, now) for channel in known):
        return 0
    told = 0
    with session.store.begin() as connection:
        for channel in gone:
            remove_channel(connection, channel.id)
            subject, text = gone_told(
                session.style, session.garden.name, leads_to(channel), channel.why_failing
            )
            told += _tell_others(session, connection, uuid5(channel.id, "gone"), subject, text, now)
    return told


def _tell_others(
    session: Session, connection: Connection, trouble: UUID, subject: str, text: str, now: datetime
) -> int:
    notice = Notice(trouble, 1, "new", "Unknown", now, now + TOLD_FOR, subject, text)

    def due(channel: Channel) -> datetime | None:
        return due_after_quiet(channel, notice, now, session.zone) if _is_told(channel, now) else None

    return post(connection, session.garden.id, notice, now, due)


def _is_told(channel: Channel, now: datetime) -> bool:
    """Tell whether a channel is told how the others do: not one of a helper's, nor one that does not work itself."""
    return works(channel, now) and not channel.while_away


def tell_missed(session: Session, now: datetime) -> int:
    """Queue what stands and never came over a channel that fails, or to who looks after the trees while one is away.

    What was left to a warning that lapsed before it could be sent is else told to nobody. Returns the number of messages.
    """
    with session.store.read() as connection:
        late = [
            channel
            for channel in list_channels(connection, session.garden.id)
            if channel.failing_since is not None or (channel.while_away and session.absences)
        ]
    standing = tellers_now(session, now) if late else ()
    if not standing:
        return 0
    with session.store.begin() as connection:
        return sum(_missed(session, connection, channel, standing, now) for channel in late)


def _missed(
    session: Session,
    connection: Connection,
    channel: Channel,
    standing: Sequence[StandingWarning],
    now: datetime,
) -> int:
    untold = [
        from_data(warning.data["notice"])
        for warning in standing
        if "notice" in warning.data and not _told_by_another(connection, channel, warning)
    ]
    return post_missed(connection, channel, untold, now, lambda to, notice: due_for(session, notice, now)(to))


def _told_by_another(connection: Connection, channel: Channel, warning: StandingWarning) -> bool:
    """Tell whether a warning was left to one that has passed since, and that came over the channel."""
    return is_helped(warning) and channel.id in told_channels(connection, UUID(warning.data["helped_by"]))


def standing_notices(session: Session) -> list[Notice]:
    """Return what was last told, or is to be told, of the warnings that stand now."""
    return [
        from_data(warning.data["notice"])
        for warning in tellers_now(session, session.clock.now)
        if "notice" in warning.data
    ]


def tell_standing(
    session: Session, connection: Connection, channel: Channel, notices: Sequence[Notice]
) -> int:
    """Queue for a channel what stands, where it has not had it. Return the number of messages."""
    now = session.clock.now
    return catch_up(connection, channel, notices, now, lambda to, notice: due_for(session, notice, now)(to))
