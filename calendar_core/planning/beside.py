"""Tasks that stand in each other's way: by how many days they must lie apart, lest a tree bears too much."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.spacing import Job

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from uuid import UUID

    from calendar_core.planning.spacing import Spacing
    from calendar_core.planning.tasks import Task

    Apart = dict[frozenset[str], int]


def kept_apart(tasks: Sequence[Task], spacings: Mapping[UUID, Spacing]) -> Apart:
    """Return by the ids of two jobs how many days must lie between them: the most that any tree of both needs."""
    out: Apart = {}
    of_tree: dict[UUID, list[Task]] = {}
    for task in tasks:
        for tree in task.trees:
            of_tree.setdefault(tree, []).append(task)
    for tree, some in of_tree.items():
        for pair, days in _of_tree(spacings[tree], some):
            out[pair] = max(days, out.get(pair, 0))
    return out


def _of_tree(spacing: Spacing, tasks: Sequence[Task]) -> Iterator[tuple[frozenset[str], int]]:
    """Yield the pairs of a tree; what all of them weigh together stays in its budget without one of a pair.

    Work is taken the heaviest first, so that of three that are too much two light ones may stand together.
    """
    known = [(task.job.id, _job(spacing, task)) for task in tasks]
    taken: list[tuple[str, Job]] = []
    for name, job in sorted((one for one in known if one[1].weight), key=lambda one: (-one[1].weight, one)):
        for other, before in taken:
            if days := _days_apart(spacing, before, job):
                yield frozenset((other, name)), days
        rest = list(taken)
        while rest and spacing.over_budget(job, (*spacing.jobs, *(one for _, one in rest))):
            days = (spacing.calendar.next_start(job.on) - job.on).days
            yield frozenset((rest.pop(0)[0], name)), days
        taken.append((name, job))


def _job(spacing: Spacing, task: Task) -> Job:
    """Return a task as a job that takes as much of the foliage as the last time did."""
    operation = task.group.items[0].operation
    last = spacing.state.last(operation)
    return Job(operation, task.job.first, spacing.weight(operation, last.share if last else None))


def _days_apart(spacing: Spacing, one: Job, other: Job) -> int:
    """Return how many days two jobs of a cycle must lie apart, whichever comes first."""
    if spacing.calendar.cycle(one.on) != spacing.calendar.cycle(other.on):
        return 0
    on = max(one.on, other.on)
    pair = [Job(job.operation, on, job.weight) for job in (one, other)]
    clashes = (spacing.clash(*pair), spacing.clash(*reversed(pair)))
    ends = [clash.until or spacing.calendar.next_start(on) for clash in clashes if clash is not None]
    return max(((end - on).days for end in ends), default=0)
