"""The work of days as it is told: what has time on a day, and what has none anywhere and is safe until that day."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.knowledge.forms.operations import HEAVY

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.knowledge.forms.operations import Operation
    from calendar_core.planning.items import Item
    from calendar_core.planning.rota.problem import Rota
    from calendar_core.planning.rota.tasks import Task

KEPT = timedelta(days=3)  # nothing is lost by a last safe day that is told so much too early (estimate)
END_AHEAD = timedelta(
    weeks=6
)  # so far ahead the last safe day of what has no time is told (as far as the plan looks)


@dataclass(frozen=True, slots=True)
class RotaLine:
    """Tasks of one event that are told together."""

    tasks: Sequence[Task]

    @property
    def minutes(self) -> int:
        """Their time together."""
        return sum(task.job.minutes for task in self.tasks)

    @property
    def items(self) -> tuple[Item, ...]:
        """The items of its trees, each once."""
        return tuple({item.id: item for task in self.tasks for item in task.items}.values())


@dataclass(frozen=True, slots=True)
class WorkDay:
    """A day with its work, what closes first first; ``ends`` has no time on any day, and is safe until this one."""

    day: date
    lines: tuple[RotaLine, ...]
    ends: tuple[RotaLine, ...] = ()

    @property
    def minutes(self) -> int:
        """The time its work takes."""
        return sum(line.minutes for line in self.lines)

    @property
    def items(self) -> tuple[Item, ...]:
        """The items of all its work."""
        return tuple(item for line in (*self.lines, *self.ends) for item in line.items)

    @property
    def closes(self) -> bool:
        """Tell whether the last safe day of some of its work falls within it."""
        last = any(not is_late(line) for line in self.ends)
        return last or any(task.safe <= self.day for line in self.lines for task in line.tasks)


def ranked(work: WorkDay, operations: Mapping[str, Operation]) -> list[tuple[RotaLine, bool]]:
    """Return the work of a day, what matters most first, each with whether it has no time.

    Heavy work and moves that are safe for the last time go before what has time, looks and light work after it.
    """
    heavy = [line for line in work.ends if _weighs(line, operations)]
    light = [line for line in work.ends if line not in heavy]
    return [
        *((line, True) for line in heavy),
        *((line, False) for line in work.lines),
        *((line, True) for line in light),
    ]


def is_late(line: RotaLine) -> bool:
    """Tell whether some of a line's work is late."""
    return any(task.since is not None for task in line.tasks)


def _weighs(line: RotaLine, operations: Mapping[str, Operation]) -> bool:
    return any(item.protects or operations[item.operation].weight >= HEAVY for item in line.items)


def lines(tasks: Sequence[Task]) -> list[RotaLine]:
    """Return tasks with those of one round of an event together whose trees follow each other."""
    together: dict[object, list[Task]] = {}
    met = Counter[object]()
    for task in tasks:
        event = task.group.uid, task.round
        together.setdefault((event, task.sitting - met[event]), []).append(task)
        met[event] += 1
    return [RotaLine(some) for some in together.values()]


def rank(task: Task) -> tuple[bool, date, date, str]:
    """Return what the work of a day is listed by: what saves a tree first, then what is late or ends first."""
    return not task.protects, task.since or task.safe, task.job.last, task.job.id


def work_days(
    rota: Rota,
    tasks: Mapping[str, Task],
    today: date,
    until: date,
    away: Collection[date] = (),
    spared: Collection[UUID] = (),
    told: Mapping[UUID, date] | None = None,
) -> tuple[WorkDay, ...]:
    """Return the days up to ``until`` that have work, and days further on until which work without time is safe.

    ``away`` are days on which nothing can be done: what would end on one ends on the last day before. ``spared`` are
    items that are told elsewhere, ``told`` the last safe days that were told of items without time: such a day stays
    while it is safe, unless there are more than three days after it.
    """
    ends_told = told or {}
    by_day: dict[date, list[Task]] = {}
    for job, day in rota.days.items():
        if day <= until and (left := _without(tasks[job], spared)):
            by_day.setdefault(day, []).append(left)
    ends: dict[date, list[Task]] = {}
    for each in _without_time(rota, tasks):
        if each.since is not None:  # late: what saves a tree is told day by day, the rest was told before
            if each.protects and (late := _without(each, spared)):
                ends.setdefault(today, []).append(late)
        elif today <= each.safe <= today + END_AHEAD and (task := _without(each, spared)):
            before = min((ends_told[item.id] for item in task.items if item.id in ends_told), default=None)
            stays = before is not None and max(today, task.safe - KEPT) <= before <= task.safe
            day = before if before is not None and stays else task.safe
            ends.setdefault(_last_day(day, max(today, task.job.first), away), []).append(task)
    return tuple(
        WorkDay(day, _ordered(by_day.get(day, ())), _ordered(ends.get(day, ())))
        for day in sorted(by_day.keys() | ends.keys())
    )


def _without(task: Task, spared: Collection[UUID]) -> Task | None:
    """Return a task without some items, None where none are left."""
    items = tuple(item for item in task.items if item.id not in spared)
    return replace(task, items=items) if items else None


def on_days(rota: Rota, tasks: Iterable[Task]) -> dict[UUID, list[date]]:
    """Return by item the days that its work is put on, in order."""
    days: dict[UUID, list[date]] = {}
    for task in tasks:
        if (day := rota.days.get(task.job.id)) is not None:
            for item in task.items:
                days.setdefault(item.id, []).append(day)
    return {item: sorted(some) for item, some in days.items()}


def _ordered(tasks: Sequence[Task]) -> tuple[RotaLine, ...]:
    return tuple(sorted(lines(tasks), key=lambda line: min(map(rank, line.tasks))))


def _without_time(rota: Rota, tasks: Mapping[str, Task]) -> list[Task]:
    """Return the work that no day has time for while it is safe, each once however often it would come."""
    timed = {item.id for job, day in rota.days.items() for item in tasks[job].items if day <= tasks[job].safe}
    left: dict[tuple[UUID, ...], Task] = {}
    too_late = [
        job for job, day in rota.days.items() if day > tasks[job].safe
    ]  # what saves a tree is done all the same
    for task in (tasks[job] for job in (*(left_out.job.id for left_out in rota.left), *too_late)):
        items = tuple(item.id for item in task.items)
        if not timed.issuperset(items):
            left.setdefault(items, task)
    return list(left.values())


def _last_day(safe: date, first: date, away: Collection[date]) -> date:
    """Return the last day from ``first`` up to a safe one that is not away; the safe one itself where all are."""
    day = safe
    while day in away and day > first:
        day -= timedelta(days=1)
    return safe if day in away else day
