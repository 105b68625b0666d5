"""The order of work over the next cycles in which least is lost, and what a grower's own choice costs against it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import permutations, product
from typing import TYPE_CHECKING

from calendar_core.planning.items import Reason
from calendar_core.planning.load.spacing import LoadJob

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from calendar_core.planning.load.spacing import Spacing

    Days = tuple[date, date]

MOST = 5  # works that are put in order: every order of them is tried


@dataclass(frozen=True, slots=True)
class Wanted:
    """Work that is due or wished, with its windows, one a cycle, the first first; ``value`` is lost with each that passes.

    A window is first and last day; it lies in one cycle.
    """

    operation: str
    weight: int
    value: int
    windows: tuple[Days, ...]


@dataclass(frozen=True, slots=True)
class Placed:
    """Work with its day, None where it finds no place; ``waits`` windows pass before it, for ``reasons``."""

    operation: str
    on: date | None
    waits: int
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Proposal:
    """Works in the order of their days, and the value that is lost."""

    placed: tuple[Placed, ...]
    lost: int


@dataclass(frozen=True, slots=True)
class OrderChoice:
    """A grower's choice: what speaks against it, the best order, that around the choice, and its cost in value.

    The cost may be negative, where what speaks against it is not heeded.
    """

    against: tuple[Reason, ...]
    best: Proposal
    chosen: Proposal
    cost: int


def choice(spacing: Spacing, mine: Wanted, others: Sequence[Wanted], on: date) -> OrderChoice:
    """Return what it means to do one work on a day of one's own, beside others that are wanted."""
    job, rest = LoadJob(mine.operation, on, mine.weight), _by_value(others)[: MOST - 1]
    best, around = order(spacing, [mine, *rest]), order(spacing, rest, [job])
    passed = sum(last < on for _, last in mine.windows)
    lost = around.lost + passed * mine.value
    chosen = Proposal(_by_day([*around.placed, Placed(mine.operation, on, passed, ())]), lost)
    return OrderChoice(spacing.against(job, spacing.jobs), best, chosen, lost - best.lost)


def order(spacing: Spacing, wanted: Sequence[Wanted], fixed: Sequence[LoadJob] = ()) -> Proposal:
    """Return the order of works, `MOST` at most, in which least is lost.

    Work of the log and ``fixed`` stands; where these break a rule or the budget, they alone do. What waits a
    window loses its value once; what finds no place in any loses it for each. Among equals what is worth more goes first.
    """
    works = _by_value(wanted)
    standing = spacing.joined((*spacing.jobs, *fixed))
    ways = product(*(range(len(work.windows) + 1) for work in works))
    for places in sorted(ways, key=lambda places: (_lost(works, places), sum(places), places)):
        jobs = _days(spacing, works, places, standing)
        if jobs is not None:
            placed = [
                _placed(spacing, work, place, jobs, standing)
                for work, place in zip(works, places, strict=True)
            ]
            return Proposal(_by_day(placed), _lost(works, places))
    raise AssertionError  # leaving all out is always possible


def _by_value(wanted: Sequence[Wanted]) -> list[Wanted]:
    return sorted(wanted, key=lambda work: (-work.value, -work.weight, work.operation))


def _lost(works: Sequence[Wanted], places: Sequence[int]) -> int:
    return sum(work.value * place for work, place in zip(works, places, strict=True))


def _by_day(placed: Sequence[Placed]) -> tuple[Placed, ...]:
    return tuple(sorted(placed, key=lambda work: (work.on is None, str(work.on), work.operation)))


def _days(
    spacing: Spacing, works: Sequence[Wanted], places: Sequence[int], standing: Sequence[LoadJob]
) -> dict[str, LoadJob] | None:
    """Return the earliest days for works in the windows chosen, of all sequences of them; None where none has any."""
    chosen = [
        (work, work.windows[place])
        for work, place in zip(works, places, strict=True)
        if place < len(work.windows)
    ]
    firsts = [LoadJob(work.operation, window[0], work.weight) for work, window in chosen]
    if not _within_budget(spacing, firsts, standing):
        return None
    ways = (_in_sequence(spacing, sequence, standing) for sequence in permutations(chosen))
    borne = [jobs for jobs in ways if jobs is not None and _within_budget(spacing, jobs, standing)]
    earliest = min(borne, key=lambda jobs: sum(job.on.toordinal() for job in jobs), default=None)
    return None if earliest is None else {job.operation: job for job in earliest}


def _in_sequence(
    spacing: Spacing, sequence: Sequence[tuple[Wanted, Days]], standing: Sequence[LoadJob]
) -> list[LoadJob] | None:
    jobs: list[LoadJob] = []
    for work, (first, last) in sequence:
        after = max(first, jobs[-1].on) if jobs else first
        job = _earliest(spacing, work, (after, last), (*standing, *jobs))
        if job is None:
            return None
        jobs.append(job)
    return jobs


def _within_budget(spacing: Spacing, jobs: Sequence[LoadJob], standing: Sequence[LoadJob]) -> bool:
    """Tell whether jobs take no cycle over its budget; another sitting of a job that was done weighs nothing."""
    every, cycles = spacing.joined((*standing, *jobs)), {spacing.cycle(job) for job in jobs}
    return all(
        spacing.used(every, cycle) <= max(spacing.budget, spacing.used(standing, cycle)) for cycle in cycles
    )


def _earliest(spacing: Spacing, work: Wanted, window: Days, others: Sequence[LoadJob]) -> LoadJob | None:
    """Return the work on the first day of a window on which nothing clashes."""
    day, last = window
    while day <= last:
        job = LoadJob(work.operation, day, work.weight)
        until = list(_waits(spacing, job, others))
        if not until:
            return job
        if None in until:
            return None
        day = max(day for day in until if day is not None)
    return None


def _waits(spacing: Spacing, job: LoadJob, others: Sequence[LoadJob]) -> Iterator[date | None]:
    """Yield until when each clash lasts; what would disturb later work has to come after that."""
    for other in others:
        if clash := spacing.clash(other, job):
            yield clash.until
        elif other.on > job.on and spacing.clash(job, other):
            yield other.on


def _placed(
    spacing: Spacing, work: Wanted, place: int, jobs: dict[str, LoadJob], standing: Sequence[LoadJob]
) -> Placed:
    """Return a work with its place, and what spoke against the first day of its first window."""
    mine, first = jobs.get(work.operation), work.windows[0][0]
    on = mine.on if mine is not None else None
    if on == first:
        return Placed(work.operation, first, 0, ())
    others = [*standing, *(job for job in jobs.values() if job is not mine)]
    wish = LoadJob(work.operation, first, work.weight)
    against = [_as_planned(reason, spacing) for reason in spacing.against(wish, others)]
    room = [
        Reason("makes_room", subject=other.operation, found=other.on)
        for other in others
        if other.on > first and not spacing.clash(other, wish) and spacing.clash(wish, other)
    ]
    return Placed(work.operation, on, place, (*against, *room))


def _as_planned(reason: Reason, spacing: Spacing) -> Reason:
    """Return a reason about work that is only planned in the words for that."""
    done = any((job.operation, job.on) == (reason.subject, reason.found) for job in spacing.jobs)
    return replace(reason, code="one_heavy_job") if reason.code == "heavy_done" and not done else reason
