"""Waits and lateness: until when work puts off other work, and what is late, which stays until it is answered."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.garden.past_work import last_like
from calendar_core.planning.items import Range, Reason

if TYPE_CHECKING:
    from collections.abc import Iterable

    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.feeding import FeedAfter
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


Held = tuple["date", Reason]
WAITS = (
    "hold",
    "leaves_back",
    "again",
    "work_ahead",
    "put_off",
)  # codes of what moves an opening: work before or planned, or the grower's answer


def wait_end(reason: Reason) -> date:
    """Return the end of a wait that a reason tells of: so many weeks after work, or the day it was put off to."""
    assert isinstance(reason.found, date)  # noqa: S101 - holds carry the date of their operation, or that put off to
    weeks = reason.needed if isinstance(reason.needed, int | float) else 0.0
    return reason.found + timedelta(weeks=weeks)


def waits_for_planned_work(item: Item) -> bool:
    """Tell whether an item opens as a wait ends for work that is planned and not done: it moves on while that is not."""
    return any(r.code == "work_ahead" and wait_end(r) >= item.opens.likely for r in item.reasons)


def wait_after(rule: FeedAfter, state: TreeState) -> Held | None:
    """Return when fertilizing may begin again after work, with the reason; None where nothing was done."""
    done = last_like(rule, state)
    if done is None or state.aim not in rule.aims:
        return None
    source, note = rule.source or "", rule.note or ""
    why = Reason(
        "hold", done.operation, done.on, rule.weeks, "wk", basis=rule.basis, source=source, note=note
    )
    return done.on + timedelta(weeks=rule.weeks), why
