"""Whether warnings reach the people of a garden."""

from __future__ import annotations

from typing import TYPE_CHECKING

from alerts.outbox.channels import is_cut_off, list_channels, reaches_nobody
from calendar_core.app.plan.line_names import short
from calendar_core.wording.warnings.judged_text import moment

if TYPE_CHECKING:
    from datetime import datetime

    from alerts.notices import Channel
    from calendar_core.app.shell.session import Session


def cut_off(session: Session, now: datetime) -> tuple[Channel, ...]:
    """Return the channels over which nothing has gone for long, the longest first."""
    with session.store.read() as connection:
        channels = list_channels(connection, session.garden.id)
    failing = [channel for channel in channels if is_cut_off(channel, now)]
    return tuple(sorted(failing, key=lambda channel: (channel.failing_since or now, channel.id)))


def nobody_reached(session: Session, now: datetime) -> bool:
    """Tell whether a garden has channels and none of them works."""
    with session.store.read() as connection:
        return reaches_nobody(list_channels(connection, session.garden.id), now)


def since_when(session: Session, channel: Channel) -> str:
    """Return since when a channel fails, in words."""
    since = channel.failing_since or session.clock.now
    return moment(session.style, since.astimezone(session.zone), session.today)


def way_to_mend(channel: Channel) -> tuple[str, ...]:
    """Return the command that helps with a channel that fails."""
    way = "remove" if channel.gone else "on" if channel.why_off else "test"
    return ("channel", way, short(channel.id))
