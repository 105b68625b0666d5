"""Waits: until when work that was done, or the grower's answer, puts off other work."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.garden.past_work import last_like
from calendar_core.planning.items import Reason

if TYPE_CHECKING:
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.feeding import FeedAfter


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
