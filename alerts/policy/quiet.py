"""Quiet hours: from when a message may be sent."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from alerts.policy.cap import DANGER_SEVERITIES

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from alerts.notices import Channel, Notice


def due_after_quiet(channel: Channel, notice: Notice, now: datetime, zone: ZoneInfo) -> datetime:
    """Return from when a notice may be sent over a channel [UTC].

    Danger that begins, or asks for something, before the quiet hours end goes at once, all else after them.
    """
    end = quiet_until(channel, now, zone)
    urgent = notice.action in ("new", "update") and notice.severity in DANGER_SEVERITIES
    first = notice.onset if notice.act_by is None else min(notice.onset, notice.act_by)
    if end is None or (urgent and first < end):
        return now.astimezone(UTC)
    return end


def quiet_until(channel: Channel, now: datetime, zone: ZoneInfo) -> datetime | None:
    """Return when the quiet hours end that ``now`` is in [UTC], None outside them.

    A time that the spring change leaves out comes as much later, one that comes twice counts the first time.
    """
    start, end = channel.quiet_from, channel.quiet_to
    if start is None or end is None or start == end:
        return None
    today = now.astimezone(zone).date()
    for back in (2, 1, 0):  # two: the day before may be one that its zone left out (Pacific/Apia, 2011)
        day = today - timedelta(days=back)
        last = day if start < end else day + timedelta(days=1)
        begins, ends = (
            datetime.combine(on, at, zone).astimezone(UTC) for on, at in ((day, start), (last, end))
        )
        if begins <= now < ends:
            return ends
    return None
