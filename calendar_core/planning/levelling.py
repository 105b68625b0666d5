"""Levelling: work put on days with free time for it, fast; where not all fits, what is worth most is kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

ENDS, WAITS = 10, 1  # worth of a unit of value that ends within the days, and of one that can wait (estimate)
TRIES, TRIED_CELLS = 60, 4000  # most orders the quick answer tries, and pairs of job and day it looks at
SPREAD = 1.5  # of ln worth in those orders: near to chance, which found more than milder ones (made-up cases)
LEFT = -1  # the place of a job that is left out


@dataclass(frozen=True, slots=True)
class Job:
    """Work of so many minutes for one day, from ``first`` to the last safe day ``last``.

    ``value`` is lost if it is left out; ``again`` is the day from which it can then be done, if that is known.
    """

    id: str
    minutes: int
    first: date
    last: date
    value: int
    again: date | None = None


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A job without a day. It costs nothing yet if its window outlasts the days looked at.

    ``longest`` is the free time of the best day of its window: less than its minutes, and no choice could fit it.
    ``beside`` are the jobs with a day that take all days from it that are long enough.
    """

    job: Job
    cost: int
    longest: int
    beside: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Rota:
    """Jobs by day. ``kept`` is the worth of those that have one; ``proven`` tells that no rota keeps more."""

    days: Mapping[str, date]
    left: tuple[LeftOut, ...]
    kept: int
    proven: bool


Places = list[int]  # by job the index of its day, or LEFT
Apart = Mapping[tuple[str, str], int]  # by the ids of an earlier and a later job the days that must pass
NONE_APART: Apart = {}


class Problem:
    """Jobs in an order that does not depend on how they came, with the days that could take each."""

    def __init__(self, jobs: Sequence[Job], start: date, free: Ints, apart: Apart) -> None:
        self.start, self.free = start, free
        self.jobs = sorted(jobs, key=lambda job: (job.last, job.first, job.id))
        self.minutes = [job.minutes for job in self.jobs]
        self.spans = [self._span(job) for job in self.jobs]
        self.days = [
            [day for day in span if free[day] >= job.minutes]
            for job, span in zip(self.jobs, self.spans, strict=True)
        ]
        self.worth = [job.value * (ENDS if self._ends(job) else WAITS) for job in self.jobs]
        place = {job.id: i for i, job in enumerate(self.jobs)}
        # By job the others, the days that must pass after them, and those that they must wait after it.
        self.apart: list[list[tuple[int, int, int]]] = [[] for _ in self.jobs]
        for one, other in sorted({tuple(sorted((place[a], place[b]))) for a, b in apart}):
            names = self.jobs[one].id, self.jobs[other].id
            there, back = apart.get(names, 0), apart.get(names[::-1], 0)
            self.apart[one].append((other, back, there))
            self.apart[other].append((one, there, back))

    @property
    def cells(self) -> int:
        """The number of pairs of a job and a day that could take it."""
        return sum(len(days) for days in self.days)

    def density(self, job: int) -> float:
        """Return the worth of a minute of a job."""
        return self.worth[job] / self.minutes[job]

    def _span(self, job: Job) -> range:
        first, last = ((day - self.start).days for day in (job.first, job.last))
        return range(max(first, 0), min(last + 1, len(self.free)))

    def _ends(self, job: Job) -> bool:
        return (job.last - self.start).days < len(self.free)

    def value(self, places: Places) -> int:
        """Return the worth of what has a day."""
        return sum(worth for worth, day in zip(self.worth, places, strict=True) if day != LEFT)

    def room(self, places: Places) -> list[int]:
        """Return the minutes left on each day."""
        room = self.free.tolist()
        for minutes, day in zip(self.minutes, places, strict=True):
            if day != LEFT:
                room[day] -= minutes
        return list(room)

    def barring(self, job: int, day: int, places: Places) -> list[int]:
        """Return the jobs that have a day too near to a day for a job."""
        return [
            other
            for other, after, before in self.apart[job]
            if places[other] != LEFT and too_near(day - places[other], after, before)
        ]

    def _beside(self, job: int, places: Places) -> tuple[str, ...]:
        """Return the jobs that bar every day long enough for a job; none where one of these days is not barred."""
        barring = [self.barring(job, day, places) for day in self.days[job]]
        return tuple(self.jobs[i].id for i in sorted(set().union(*barring))) if all(barring) else ()

    def rota(self, places: Places, *, proven: bool) -> Rota:
        """Return places as a rota."""
        days = {
            job.id: self.start + timedelta(days=day)
            for job, day in zip(self.jobs, places, strict=True)
            if day != LEFT
        }
        left = tuple(
            LeftOut(
                job,
                job.value if self._ends(job) else 0,
                max((int(self.free[day]) for day in self.spans[i]), default=0),
                self._beside(i, places),
            )
            for i, job in enumerate(self.jobs)
            if places[i] == LEFT
        )
        return Rota(days, left, self.value(places), proven)


def too_near(days: int, after: int, before: int) -> bool:
    """Tell whether a job so many days after another (before it, if negative) is nearer than ``after``, or ``before``.

    >>> too_near(5, 28, 0), too_near(-5, 28, 0), too_near(0, 0, 28)
    (True, False, True)
    """
    return (days >= 0 and days < after) or (days <= 0 and -days < before)


def quick(jobs: Sequence[Job], start: date, free: Ints, apart: Apart = NONE_APART, seed: int = 1) -> Rota:
    """Return a good rota fast: filled in several orders, each repaired day by day, and the best moved forward."""
    problem = Problem(jobs, start, free, apart)
    found = [_repaired(problem, _filled(problem, order)) for order in _orders(problem, seed)]
    places = _earlier(problem, max(found, key=problem.value))
    all_in = all(day != LEFT for day, days in zip(places, problem.days, strict=True) if days)
    return problem.rota(places, proven=all_in)


def _orders(problem: Problem, seed: int) -> list[list[int]]:
    """Return orders to fill in: by worth of a minute, by last safe day, and by worths disturbed by chance."""
    every = range(len(problem.jobs))
    orders = [sorted(every, key=problem.density, reverse=True), list(every)]
    chance = np.random.default_rng(seed)
    for _ in range(min(TRIES, TRIED_CELLS // (problem.cells + 1))):
        power, by = chance.uniform(0.0, 1.5), np.exp(chance.normal(0.0, SPREAD, len(every)))
        worth = by * problem.worth / np.power(problem.minutes, power)
        orders.append(np.argsort(-worth, kind="stable").tolist())
    return orders


def _filled(problem: Problem, order: Sequence[int], places: Places | None = None) -> Places:
    """Return places with each job of the order that has none on the day where it leaves the least room."""
    out = [LEFT] * len(problem.jobs) if places is None else list(places)
    room = problem.room(out)
    for job in order:
        fitting = [
            day
            for day in problem.days[job]
            if room[day] >= problem.minutes[job] and not problem.barring(job, day, out)
        ]
        out[job] = min(fitting, key=lambda day: room[day], default=LEFT)
        if out[job] != LEFT:
            room[out[job]] -= problem.minutes[job]
    return out


def _repaired(problem: Problem, places: Places) -> Places:
    """Return places whose days, one after the other, were each filled anew until that gained nothing more."""
    gained = True
    while gained:
        gained = False
        for day in range(len(problem.free)):
            for moving in (False, True):
                new = _refilled(problem, places, day, moving=moving)
                if problem.value(new) > problem.value(places):
                    places, gained = new, True
    return places


def _refilled(problem: Problem, places: Places, day: int, *, moving: bool) -> Places:
    """Return places with one day filled anew, from what it has and what is left out; the rest finds other days.

    ``moving`` makes room: what could go to another day does.
    """
    left = [job for job, at in enumerate(places) if at == LEFT and day in problem.days[job]]
    if not left:
        return places
    here = [job for job, at in enumerate(places) if at == day]
    room = problem.room(places) if moving else [0] * len(problem.free)
    staying = [job for job in here if not _could_move(problem, job, day, room)]
    chosen = _best_load(problem, [*staying, *left], int(problem.free[day]))
    out = [LEFT if at == day else at for at in places]
    by_density = sorted({*here, *left}, key=lambda job: (-problem.density(job), job))
    for job in by_density:
        if job in chosen and not problem.barring(job, day, out):
            out[job] = day
    return _filled(problem, [job for job in by_density if out[job] == LEFT], out)


def _could_move(problem: Problem, job: int, day: int, room: Sequence[int]) -> bool:
    return any(other != day and room[other] >= problem.minutes[job] for other in problem.days[job])


def _best_load(problem: Problem, jobs: Sequence[int], room: int) -> list[int]:
    """Return those of the jobs that are worth most and go into so many minutes together."""
    best = np.zeros(room + 1)  # by minutes, the most worth that goes into them
    takes = np.zeros((len(jobs), room + 1), dtype=bool)
    for i, job in enumerate(jobs):
        minutes = problem.minutes[job]
        with_it = best[: room + 1 - minutes] + problem.worth[job]
        takes[i, minutes:] = with_it > best[minutes:]
        best[minutes:] = np.maximum(with_it, best[minutes:])
    out = []
    for i in reversed(range(len(jobs))):
        if takes[i, room]:
            out.append(jobs[i])
            room -= problem.minutes[jobs[i]]
    return out


def _earlier(problem: Problem, places: Places) -> Places:
    """Return places with each job, what is worth most a minute first, on the earliest day that has room for it."""
    out, room = list(places), problem.room(places)
    for job in sorted(range(len(out)), key=lambda job: (-problem.density(job), job)):
        if out[job] != LEFT:
            minutes = problem.minutes[job]
            room[out[job]] += minutes
            out[job] = next(
                day
                for day in problem.days[job]
                if room[day] >= minutes and not problem.barring(job, day, out)
            )
            room[out[job]] -= minutes
    return out
