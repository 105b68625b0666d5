"""Levelling: work put on days with free time for it; where not all fits, what is worth most is kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]

ENDS, WAITS = 10, 1  # worth of a unit of value that ends within the days, and of one that can wait (estimate)
CELLS = 150  # pairs of job and day up to which the exact answer is asked for: seconds at worst
NODES = 200  # branches the solver may search; then its best is taken, and not called proven
EARLY_GAP = 0.01  # how far from the earliest the exact answer may be: days matter less than what is kept
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
    """

    job: Job
    cost: int
    longest: int


@dataclass(frozen=True, slots=True)
class Rota:
    """Jobs by day. ``kept`` is the worth of those that have one; ``proven`` tells that no rota keeps more."""

    days: Mapping[str, date]
    left: tuple[LeftOut, ...]
    kept: int
    proven: bool


Places = list[int]  # by job the index of its day, or LEFT
Limit = tuple["Floats", float, float]  # rows, and what their sums must lie between


class _Problem:
    """Jobs in an order that does not depend on how they came, with the days that could take each."""

    def __init__(self, jobs: Sequence[Job], start: date, free: Ints) -> None:
        self.start, self.free = start, free
        self.jobs = sorted(jobs, key=lambda job: (job.last, job.first, job.id))
        self.minutes = [job.minutes for job in self.jobs]
        self.spans = [self._span(job) for job in self.jobs]
        self.days = [
            [day for day in span if free[day] >= job.minutes]
            for job, span in zip(self.jobs, self.spans, strict=True)
        ]
        self.worth = [job.value * (ENDS if self._ends(job) else WAITS) for job in self.jobs]

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

    def rota(self, places: Places, *, proven: bool) -> Rota:
        """Return places as a rota."""
        found = list(zip(self.jobs, self.spans, places, strict=True))
        days = {job.id: self.start + timedelta(days=day) for job, _, day in found if day != LEFT}
        left = tuple(
            LeftOut(
                job,
                job.value if self._ends(job) else 0,
                max((int(self.free[day]) for day in span), default=0),
            )
            for job, span, day in found
            if day == LEFT
        )
        return Rota(days, left, self.value(places), proven)


def level(jobs: Sequence[Job], start: date, free: Ints) -> Rota:
    """Return the jobs on the days from ``start`` on with ``free`` minutes (n_days,).

    The `exact` answer is asked for only where the `quick` one leaves something out and there are few enough of them.
    """
    fast = quick(jobs, start, free)
    if fast.proven or _Problem(jobs, start, free).cells > CELLS:
        return fast
    best = exact(jobs, start, free)
    return best if best.kept >= fast.kept else fast


# The exact answer


def exact(jobs: Sequence[Job], start: date, free: Ints) -> Rota:
    """Return the rota that keeps the most worth and, of those, the one that does what is worth most the earliest.

    Two mixed-integer programs, solved one after the other by HiGHS.
    """
    problem = _Problem(jobs, start, free)
    cells = [(job, day) for job, days in enumerate(problem.days) for day in days]
    places = [LEFT] * len(problem.jobs)
    if not cells:
        return problem.rota(places, proven=True)
    taken, proven = _solved(problem, *np.array(cells).T)
    for (job, day), yes in zip(cells, taken, strict=True):
        if yes:
            places[job] = day
    return problem.rota(places, proven=proven)


def _solved(problem: _Problem, job: Ints, day: Ints) -> tuple[list[bool], bool]:
    """Return which pairs of job and day are taken, and whether that is proven to keep the most."""
    n_days = len(problem.free)
    once = (job == np.arange(len(problem.jobs))[:, None]).astype(float)
    share = np.array(problem.minutes)[job] / problem.free[day]  # the solver likes numbers about 1
    room = np.where(day == np.arange(n_days)[:, None], share, 0.0)
    limits: list[Limit] = [(once, 0.0, 1.0), (room, 0.0, 1.0)]
    worth = np.array(problem.worth)[job] / max(sum(problem.worth), 1)
    best, proven = _milp(-worth, limits, 0.0)
    kept = (worth[None, :], float(worth @ best) - 0.5 / max(sum(problem.worth), 1), np.inf)
    early, _ = _milp(-worth * (n_days - day), [*limits, kept], EARLY_GAP)
    return ((early if early.any() else best) > 0.5).tolist(), proven


def _milp(cost: Floats, limits: Sequence[Limit], gap: float) -> tuple[Floats, bool]:
    """Return the 0-or-1 values of least cost, and whether that is proven; all 0 if the search gave up."""
    from scipy.optimize import Bounds, milp  # noqa: PLC0415 - slow to load, and nothing else needs it

    search = {"mip_rel_gap": gap, "node_limit": NODES}
    found = milp(cost, constraints=limits, integrality=1, bounds=Bounds(0, 1), options=search)
    return (np.zeros_like(cost) if found.x is None else np.round(found.x)), found.status == 0


# The quick answer


def quick(jobs: Sequence[Job], start: date, free: Ints, seed: int = 1) -> Rota:
    """Return a good rota fast: filled in several orders, each repaired day by day, and the best moved forward."""
    problem = _Problem(jobs, start, free)
    found = [_repaired(problem, _filled(problem, order)) for order in _orders(problem, seed)]
    places = _earlier(problem, max(found, key=problem.value))
    all_in = all(day != LEFT for day, days in zip(places, problem.days, strict=True) if days)
    return problem.rota(places, proven=all_in)


def _orders(problem: _Problem, seed: int) -> list[list[int]]:
    """Return orders to fill in: by worth of a minute, by last safe day, and by worths disturbed by chance."""
    every = range(len(problem.jobs))
    orders = [sorted(every, key=problem.density, reverse=True), list(every)]
    chance = np.random.default_rng(seed)
    for _ in range(min(TRIES, TRIED_CELLS // (problem.cells + 1))):
        power, by = chance.uniform(0.0, 1.5), np.exp(chance.normal(0.0, SPREAD, len(every)))
        worth = by * problem.worth / np.power(problem.minutes, power)
        orders.append(np.argsort(-worth, kind="stable").tolist())
    return orders


def _filled(problem: _Problem, order: Sequence[int], places: Places | None = None) -> Places:
    """Return places with each job of the order that has none on the day where it leaves the least room."""
    out = [LEFT] * len(problem.jobs) if places is None else list(places)
    room = problem.room(out)
    for job in order:
        fitting = [day for day in problem.days[job] if room[day] >= problem.minutes[job]]
        out[job] = min(fitting, key=lambda day: room[day], default=LEFT)
        if out[job] != LEFT:
            room[out[job]] -= problem.minutes[job]
    return out


def _repaired(problem: _Problem, places: Places) -> Places:
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


def _refilled(problem: _Problem, places: Places, day: int, *, moving: bool) -> Places:
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
    for job in chosen:
        out[job] = day
    return _filled(
        problem, sorted({*here, *left} - {*chosen}, key=lambda job: (-problem.density(job), job)), out
    )


def _could_move(problem: _Problem, job: int, day: int, room: Sequence[int]) -> bool:
    return any(other != day and room[other] >= problem.minutes[job] for other in problem.days[job])


def _best_load(problem: _Problem, jobs: Sequence[int], room: int) -> list[int]:
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


def _earlier(problem: _Problem, places: Places) -> Places:
    """Return places with each job, what is worth most a minute first, on the earliest day that has room for it."""
    out, room = list(places), problem.room(places)
    for job in sorted(range(len(out)), key=lambda job: (-problem.density(job), job)):
        if out[job] != LEFT:
            minutes = problem.minutes[job]
            room[out[job]] += minutes
            out[job] = next(day for day in problem.days[job] if room[day] >= minutes)
            room[out[job]] -= minutes
    return out
