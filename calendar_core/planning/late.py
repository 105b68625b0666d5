"""What is late: it stays in the plan, and its end moves on week by week, until it is answered."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.planning.items import Range, Reason

if TYPE_CHECKING:
    from collections.abc import Iterable

    from calendar_core.planning.items import Item

WEEK = 7
LATE_DAYS = 3  # after its day a look is called late (estimate)


def in_time(opens: Range, days: int, today: date) -> Range:
    """Return until when something is in time that may wait so many days; late, until the end of the running week.

    >>> due = Range(*[date(2015, 5, 1)] * 3)
    >>> in_time(due, 5, date(2015, 5, 2)).likely, in_time(due, 5, date(2015, 5, 7)).likely
    (datetime.date(2015, 5, 6), datetime.date(2015, 5, 13))
    """
    late = (today - opens.early).days - days
    after = timedelta(days=days + (WEEK * -(-late // WEEK) if late > 0 else 0))
    return Range(opens.early + after, opens.likely + after, opens.late + after)


def overdue(opens: Range, today: date, grace_days: int = LATE_DAYS) -> tuple[Reason, ...]:
    """Return the reason that something is late, if it is."""
    late = opens.late < today - timedelta(days=grace_days)
    return (Reason("overdue", found=opens.likely),) if late else ()


def late_since(items: Iterable[Item]) -> date | None:
    """Return since when the first of some items is late, None if none is: the one deadline that is told of it."""
    since = [
        r.found for item in items for r in item.reasons if r.code == "overdue" and isinstance(r.found, date)
    ]
    return min(since, default=None)
