"""The work of the coming days as the calendar and the first screen tell it."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.app.work.rota import levelled
from calendar_core.app.work.told import told_days_of
from calendar_core.planning.places.operations import INTO
from calendar_core.planning.rota.work_days import work_days

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.app.work.rota import Levelled
    from calendar_core.planning.events import TimedEvent
    from calendar_core.planning.items import Item
    from calendar_core.planning.rota.work_days import WorkDay

TOLD_WEEKS, ROTA_WEEKS = (
    3,
    4,
)  # work is told for three weeks, put on days of four: the last day told is not the last


def told_until(today: date) -> date:
    """Return the last day that has its work."""
    return today + timedelta(weeks=TOLD_WEEKS)


def days_of_work(
    session: Session, moves: Sequence[TimedEvent] = (), found: Levelled | None = None
) -> tuple[WorkDay, ...]:
    """Return the days that have work within three weeks, and those until which what has no time is safe.

    ``moves`` have their hour, and stand in no other list; ``found`` is the rota where that was made.
    """
    rota = found or levelled(session, ROTA_WEEKS)
    away = {
        first + timedelta(days=place)
        for first, last in session.absences
        for place in range((last - first).days + 1)
    }
    spared = moved_by_the_hour(session.plan.items, moves)
    ends = told_days_of(session).ends
    return work_days(rota.rota, rota.tasks, session.today, told_until(session.today), away, spared, ends)


def moved_by_the_hour(items: Iterable[Item], moves: Sequence[TimedEvent]) -> set[UUID]:
    """Return the season's moves under cover of trees that a warning asks in by an hour already."""
    trees = {tree for move in moves if move.to is not None and not move.at for tree in move.tree_ids}
    return {item.id for item in items if item.operation == INTO and item.tree_id in trees}
