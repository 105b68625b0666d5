"""What is coming: the lines of the plan, the weeks that have work with their time, what finds none, and what moved."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.app.plan.date_moves import LOOKED_BACK, moves_since
from calendar_core.app.plan.planned import planned_groups
from calendar_core.app.work.days import ROTA_WEEKS
from calendar_core.app.work.rota import left_lines, levelled, on_day
from calendar_core.wording.plan.move_text import moved_alike

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from calendar_core.app.shell.session import Session
    from calendar_core.app.work.rota import Left, Levelled
    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.moved_dates import DateMove
    from calendar_core.planning.review.walks import Walk
    from calendar_core.planning.rota.tasks import Task
    from calendar_core.planning.rota.work_days import RotaLine

AHEAD_WEEKS = 52  # so far the plan is told: a year
WEEK = 7


@dataclass(frozen=True)
class DayAhead:
    """A day that has work or walks, as the rota puts them."""

    day: date
    lines: Sequence[RotaLine]
    walks: Sequence[Walk]


@dataclass(frozen=True)
class WeekAhead:
    """A week, from Monday or today to Sunday, with the time that its work takes and that is free [min]."""

    first: date
    last: date
    used: int
    free: int
    days: Sequence[DayAhead]


@dataclass(frozen=True)
class Coming:
    """What is open ``now``, what is ``ahead``, the ``weeks`` of the rota, what is ``left`` without a day, and what ``moved``.

    ``tasks`` are those of the rota by the id of their job.
    """

    now: Sequence[EventGroup]
    ahead: Sequence[EventGroup]
    weeks: Sequence[WeekAhead]
    left: Sequence[Left]
    tasks: Mapping[str, Task]
    moved: Sequence[Sequence[DateMove]]


def coming(session: Session) -> Coming:
    """Return what is coming to a garden."""
    now, ahead = planned_groups(session, AHEAD_WEEKS)
    found = levelled(session, ROTA_WEEKS)
    moved = moved_alike(session.speaker, moves_since(session, session.today - LOOKED_BACK))
    return Coming(now, ahead, weeks_of(found, session.today), left_lines(found), found.tasks, moved)


def weeks_of(found: Levelled, today: date) -> list[WeekAhead]:
    """Return a rota by week; the last days, which are no whole week, are left out."""
    out = []
    first = today
    while (last := first + timedelta(days=WEEK - 1 - first.weekday())) < today + timedelta(
        days=len(found.free)
    ):
        days = [_day(found, first + timedelta(days=place)) for place in range((last - first).days + 1)]
        used = sum(
            sum(line.minutes for line in day.lines) + sum(walk.minutes for walk in day.walks) for day in days
        )
        begins = (first - today).days
        free = int(found.free[begins : begins + len(days)].sum())
        out.append(WeekAhead(first, last, used, free, [day for day in days if day.lines or day.walks]))
        first = last + timedelta(days=1)
    return out


def _day(found: Levelled, day: date) -> DayAhead:
    return DayAhead(day, on_day(found, day), [walk for walk in found.walks if walk.on == day])
