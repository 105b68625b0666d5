"""The rota of a garden: work on days with time for it, and what does not fit, told together where one would do it together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from calendar_core.app.plan.line_names import due_groups, name_of
from calendar_core.app.plan.load import spacings
from calendar_core.app.plan.walks import review_plan
from calendar_core.app.shell.quiet import quiet_library
from calendar_core.app.shell.session import Session
from calendar_core.app.work.told import told_days_of
from calendar_core.garden.hours import free_minutes, weekly
from calendar_core.knowledge.forms.operations import is_feeding
from calendar_core.planning.feeding.given import cases
from calendar_core.planning.feeding.strength import outlook
from calendar_core.planning.groups import EventGroup
from calendar_core.planning.load.spacing import Spacing
from calendar_core.planning.planner import air_over
from calendar_core.planning.review.walks import Walk
from calendar_core.planning.rota.days_apart import fed_in_time, kept_apart
from calendar_core.planning.rota.problem import LeftOut, Rota
from calendar_core.planning.rota.solver import level
from calendar_core.planning.rota.tasks import Task, tasks_of
from calendar_core.planning.rota.told_days import ToldDays
from calendar_core.planning.rota.work_days import RotaLine, lines, on_days, rank

PASSES = 3
"""Work that comes again is counted from the day it is put on, so that the days of later times follow from a first
answer: after two passes they stand in nearly all gardens (made-up ones), and what is told today is told again."""


@dataclass(frozen=True)
class Levelled:
    """A rota with the free minutes from today on, its tasks by the id of their job, and the walks it leaves time for."""

    rota: Rota
    free: NDArray[np.int64]
    tasks: dict[str, Task]
    walks: tuple[Walk, ...] = ()


def levelled(session: Session, weeks: int) -> Levelled:
    """Return the rota of the coming weeks."""
    free = free_minutes(session.entries, session.today, weeks * 7)
    walks = tuple(
        walk for walk in review_plan(session).pressing if (walk.on - session.today).days < len(free)
    )
    left = free.copy()
    for walk in walks:
        place = (walk.on - session.today).days
        left[place] = max(0, left[place] - walk.minutes)
    bears = {tree.id: spacing for tree, spacing in spacings(session, session.trees)}
    groups, pauses = due_groups(session), _pauses(session, weeks)
    told = told_days_of(session)
    found, tasks = _on_days(session, groups, left, told, pauses, bears)
    for _ in range(PASSES):
        again = told.with_days(on_days(found, tasks))
        if again == told:
            break
        told = again
        found, tasks = _on_days(session, groups, left, told, pauses, bears)
    return Levelled(found, free, {task.job.id: task for task in tasks}, walks)


def _on_days(
    session: Session,
    groups: Sequence[EventGroup],
    left: NDArray[np.int64],
    told: ToldDays,
    pauses: Mapping[UUID, Sequence[tuple[date, date]]],
    bears: Mapping[UUID, Spacing],
) -> tuple[Rota, tuple[Task, ...]]:
    """Return the work of events on days with ``left`` minutes, and its tasks."""
    operations = session.knowledge.operations
    tasks = tasks_of(groups, session.grove.states, operations, session.today, left, told)
    tasks = fed_in_time(tasks, pauses, operations)
    apart = kept_apart(tasks, bears, session.knowledge)
    with quiet_library():
        return level([task.job for task in tasks], session.today, left, apart), tasks


def _pauses(session: Session, weeks: int) -> dict[UUID, list[tuple[date, date]]]:
    """Return by tree the spans, first day and first day after, in which it gets no fertilizer, as ``fertilize`` tells."""
    known, last = session.knowledge, session.today + timedelta(weeks=weeks)
    fed = {item.tree_id for item in session.plan.items if is_feeding(item.operation, known.operations)}
    trees = [tree for tree in session.trees if tree.id in fed]
    air = air_over(session.garden, session.weather.sky, known, session.today)
    of_trees = cases(session.plan, trees, session.grove, session.weather.sky, known, air)
    return {
        tree: [
            (found.day, found.not_before or last + timedelta(days=1))
            for found, _ in outlook(case, known.feeding, known.operations, last)
            if found.hold
        ]
        for tree, case in of_trees.items()
    }


def on_day(found: Levelled, day: date) -> list[RotaLine]:
    """Return the work of a day, what is worth most first."""
    tasks = [task for task in found.tasks.values() if found.rota.days.get(task.job.id) == day]
    return sorted(lines(tasks), key=lambda line: min(map(rank, line.tasks)))


def why_left(left: LeftOut) -> str:
    """Return why a job has no day: its trees' other work, it can wait, no day is long enough, or the time is taken."""
    if left.beside:
        return "beside"
    if not left.cost:
        return "can wait"
    return "too long" if left.longest < left.job.minutes else "no room"


@dataclass(frozen=True)
class Left(RotaLine):
    """Tasks told together that have no day, ``why``, and what that costs; ``one`` speaks for them."""

    one: LeftOut
    why: str
    cost: int


def left_lines(found: Levelled) -> list[Left]:
    """Return what has no day, the dearest first."""
    together: dict[object, list[LeftOut]] = {}
    for left_out in found.rota.left:
        task = found.tasks[left_out.job.id]
        together.setdefault((task.group.uid, task.round, why_left(left_out)), []).append(left_out)
    out = [
        Left([found.tasks[o.job.id] for o in some], some[0], why_left(some[0]), sum(o.cost for o in some))
        for some in together.values()
    ]
    return sorted(out, key=lambda left: (-left.cost, left.one.job.last, left.one.job.id))


def rota_data(session: Session, found: Levelled) -> dict[str, object]:
    """Return a rota as data."""
    today, free = session.today, found.free.tolist()
    days = [today + timedelta(days=i) for i in range(len(free))]
    return {
        "today": today,
        "usual_hours": weekly(session.entries, today) is None,
        "proven": found.rota.proven,
        "trees": {tree.id: tree.label for tree in session.trees},
        "days": [
            {
                "day": day,
                "free": minutes,
                "work": [_line_data(line) for line in on_day(found, day)],
                "walk": next((_walk_data(walk) for walk in found.walks if walk.on == day), None),
            }
            for day, minutes in zip(days, free, strict=True)
        ],
        "left": [
            {**_line_data(left), "why": left.why, "cost": left.cost, "again": left.one.job.again}
            for left in left_lines(found)
        ],
    }


def _walk_data(walk: Walk) -> dict[str, object]:
    return {"tree_ids": [stop.tree_id for stop in walk.stops], "minutes": walk.minutes}


def _line_data(line: RotaLine) -> dict[str, object]:
    first = line.tasks[0]
    return {
        "item": name_of(line.items),
        "operation": first.group.items[0].operation,
        "rule": first.group.items[0].rule,
        "tree_ids": [tree for task in line.tasks for tree in task.trees],
        "minutes": line.minutes,
        "first": first.job.first,
        "last": first.job.last,
    }
