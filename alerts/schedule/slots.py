"""When a job is due: the newest moment of its schedule, from data and never from a cron table in local hours.

A slot is an instant, so a clock change neither skips nor doubles it: the local day decides, and each local
day has one.
"""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo


def hourly(now: datetime, every_h: int = 1) -> datetime:
    """Return the newest full hour of UTC that ``every_h`` divides.

    >>> hourly(datetime(2026, 3, 29, 7, 40, tzinfo=UTC), 6)
    datetime.datetime(2026, 3, 29, 6, 0, tzinfo=datetime.timezone.utc)
    """
    full = now.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    return full - timedelta(hours=full.hour % every_h)


def daily(now: datetime, at: time, zone: ZoneInfo) -> datetime:
    """Return the newest moment at which the garden's wall clock was to show ``at``, in UTC.

    A time that the spring change leaves out comes as much later, a time that comes twice counts once.
    Nor does it matter that a zone once left out a whole day (Pacific/Apia, 30 December 2011).
    """
    today = now.astimezone(zone).date()
    moments = (datetime.combine(today - timedelta(days=back), at, zone) for back in range(3))
    return next(moment for each in moments if (moment := each.astimezone(UTC)) <= now)
