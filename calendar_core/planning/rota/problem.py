"""The problem of a rota: jobs, the days free for them, what must lie apart, and what an answer is worth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

ENDS, WAITS = 10, 1  # worth of a unit of value that ends within the days, and of one that can wait (estimate)
LEFT = -1  # the place of a job that is left out


@dataclass(frozen=True, slots=True)
class Job:
    """Work of so many minutes for one day, from ``first`` to the last safe day ``last``.

    ``value`` is lost if it is left out; ``again`` is the day from which it can then be done, if that is known.
    ``told`` is the day it was told for, which it keeps where it can; any other is from ``anew`` on.
    """

    id: str
    minutes: int
    first: date
    last: date
    value: int
    again: date | None = None
    told: date | None = None
    anew: date | None = None


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
            [day for day in span if free[day] >= job.minutes and self._may(job, day)]
            for job, span in zip(self.jobs, self.spans, strict=True)
        ]
        self.told = [
            (job.told - start).days if job.told and (job.told - start).days in days else LEFT
            for job, days in zip(self.jobs, self.days, strict=True)
        ]
        self.worth = [job.value * (ENDS if self._ends(job) else WAITS) for job in self.jobs]
        place = {job.id: i for i, job in enumerate(self.jobs)}
        # By job the others, the days that must pass after them, and those that they must wait after it.
        self.apart: list[list[tuple[int, int, int]]] = [[] for _ in self.jobs]
        for index, other in sorted({tuple(sorted((place[a], place[b]))) for a, b in apart}):
            names = self.jobs[index].id, self.jobs[other].id
            there, back = apart.get(names, 0), apart.get(names[::-1], 0)
            self.apart[index].append((other, back, there))
            self.apart[other].append((index, there, back))

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

    def _may(self, job: Job, day: int) -> bool:
        """Tell whether a job may be done on a day, as far as other days were told."""
        on = self.start + timedelta(days=day)
        return job.anew is None or on >= job.anew or on == job.told

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
