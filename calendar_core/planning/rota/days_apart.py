"""Tasks that stand in each other's way: by how many days they must lie apart, lest a tree bears too much or is fed too soon."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import permutations
from math import ceil
from typing import TYPE_CHECKING

from calendar_core.knowledge.forms.operations import is_feeding
from calendar_core.planning.feeding.cakes import changes_cakes
from calendar_core.planning.load.spacing import LoadJob

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.knowledge.forms.operations import Operation
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.feeding.holds import FeedingHold
    from calendar_core.planning.load.spacing import Spacing
    from calendar_core.planning.rota.tasks import Task

    Apart = dict[tuple[str, str], int]


def kept_apart(
    tasks: Sequence[Task], spacings: Mapping[UUID, Spacing], knowledge: Knowledge | None = None
) -> Apart:
    """Return by the ids of an earlier and a later job how many days must pass: the most that any tree of both needs.

    ``knowledge`` has the waits of all fertilizing after other work, and before it.
    """
    out: Apart = {}
    of_tree: dict[UUID, list[Task]] = {}
    for task in tasks:
        for tree in task.trees:
            of_tree.setdefault(tree, []).append(task)
    for tree, some in of_tree.items():
        spacing = spacings[tree]
        for name, other, days in _of_tree(spacing, some):
            for pair in ((name, other), (other, name)):
                out[pair] = max(days, out.get(pair, 0))
        for first, then in permutations(some, 2):
            if days := _waits(spacing, first, then, knowledge):
                out[first.job.id, then.job.id] = max(days, out.get((first.job.id, then.job.id), 0))
    return out


def fed_in_time(
    tasks: Sequence[Task],
    waits: Mapping[UUID, Sequence[tuple[date, FeedingHold]]],
    operations: Mapping[str, Operation],
) -> tuple[Task, ...]:
    """Return tasks of which fertilizing ends before a tree waits for work that is planned, as `waits_ahead` has it.

    A time of it that falls into the wait is left out.
    """
    return tuple(task for each in tasks if (task := _in_time(each, waits, operations)) is not None)


def _in_time(
    task: Task, waits: Mapping[UUID, Sequence[tuple[date, FeedingHold]]], operations: Mapping[str, Operation]
) -> Task | None:
    if not is_feeding(task.group.items[0].operation, operations):
        return task
    job = task.job
    for first, hold in (wait for tree in task.trees for wait in waits.get(tree, ())):
        if first <= job.last and (hold.end is None or job.first < hold.end):
            job = replace(job, last=first - timedelta(days=1))
    return replace(task, job=job) if job.first <= job.last else None


def _waits(spacing: Spacing, first: Task, then: Task, knowledge: Knowledge | None) -> int:
    """Return how many days light work, such as fertilizing, lies from other work that is only planned too."""
    before, later = (task.group.items[0] for task in (first, then))
    feeding = knowledge.feeding if knowledge else None
    if is_feeding(before.operation, spacing.operations) or (knowledge and changes_cakes(before, knowledge)):
        rules = feeding.before if feeding else ()
        return ceil(7 * max((rule.weeks for rule in rules if rule.operation == later.operation), default=0))
    if spacing.weight(later.operation) or before.operation == later.operation or then.group.items[0].label:
        return 0
    works = (work for work in spacing.profile.work if work.key == later.rule)
    weeks = [hold.weeks for work in works for hold in work.holds if hold.after == before.operation]
    if feeding and is_feeding(later.operation, spacing.operations):
        weeks += [
            rule.weeks
            for rule in feeding.after
            if rule.operation == before.operation and not rule.dissolved and spacing.state.aim in rule.aims
        ]
    return ceil(7 * max((of for of in weeks if of is not None), default=0))


def _of_tree(spacing: Spacing, tasks: Sequence[Task]) -> Iterator[tuple[str, str, int]]:
    """Yield the pairs of heavy work of a tree with the days between them, whichever comes first; what all of them weigh together stays in its budget without one of a pair.

    Work is taken the heaviest first, so that of three that are too much two light ones may stand together.
    """
    jobs = [(task.job.id, _job(spacing, task)) for task in tasks]
    taken: list[tuple[str, LoadJob]] = []
    for name, job in sorted(
        (named for named in jobs if named[1].weight), key=lambda named: (-named[1].weight, named)
    ):
        for other, before in taken:
            if days := _days_apart(spacing, before, job):
                yield other, name, days
        rest = list(taken)
        while rest and spacing.over_budget(job, (*spacing.jobs, *(earlier for _, earlier in rest))):
            days = (spacing.calendar.next_start(job.on) - job.on).days
            yield rest.pop(0)[0], name, days
        taken.append((name, job))


def _job(spacing: Spacing, task: Task) -> LoadJob:
    """Return a task as a job that takes as much of the foliage as the last time did."""
    operation = task.group.items[0].operation
    last = spacing.state.last(operation)
    return LoadJob(operation, task.job.first, spacing.weight(operation, last.share if last else None))


def _days_apart(spacing: Spacing, job: LoadJob, other: LoadJob) -> int:
    """Return how many days two jobs of a cycle must lie apart, whichever comes first."""
    if spacing.calendar.cycle(job.on) != spacing.calendar.cycle(other.on):
        return 0
    on = max(job.on, other.on)
    pair = [LoadJob(heavy.operation, on, heavy.weight) for heavy in (job, other)]
    clashes = (spacing.clash(*pair), spacing.clash(*reversed(pair)))
    ends = [clash.until or spacing.calendar.next_start(on) for clash in clashes if clash is not None]
    return max(((end - on).days for end in ends), default=0)
