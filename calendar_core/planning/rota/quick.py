"""The quick answer: work put on days in many orders, the best of which is kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.rota.problem import LEFT, NONE_APART, Apart, Job, Places, Problem, Rota

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from numpy.typing import NDArray

    Ints = NDArray[np.int64]


TRIES, TRIED_CELLS = 60, 4000  # most orders the quick answer tries, and pairs of job and day it looks at
SPREAD = 1.5  # of ln worth in those orders: near to chance, which found more than milder ones (made-up cases)


def quick(jobs: Sequence[Job], start: date, free: Ints, apart: Apart = NONE_APART, seed: int = 1) -> Rota:
    """Return a good rota fast: filled in several orders, each repaired day by day, and the best moved forward."""
    problem = Problem(jobs, start, free, apart)
    told = _as_told(problem)
    attempts = [_repaired(problem, _filled(problem, order, told)) for order in _orders(problem, seed)]
    places = _earlier(problem, max(attempts, key=problem.value))
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


def _as_told(problem: Problem) -> Places:
    """Return each job on the day it was told for, as far as there is room, what is worth most a minute first."""
    out = [LEFT] * len(problem.jobs)
    room = problem.room(out)
    for job in sorted(range(len(out)), key=lambda job: (-problem.density(job), job)):
        day = problem.told[job]
        if day != LEFT and room[day] >= problem.minutes[job] and not problem.barring(job, day, out):
            out[job] = day
            room[day] -= problem.minutes[job]
    return out


def _filled(problem: Problem, order: Sequence[int], places: Places) -> Places:
    """Return places with each job of the order that has none on the day where it leaves the least room."""
    out = list(places)
    room = problem.room(out)
    for job in order:
        if out[job] != LEFT:
            continue
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
    """Return places with each job, what is worth most a minute first, on the earliest day that has room for it.

    What stands on the day it was told for stays there.
    """
    out, room = list(places), problem.room(places)
    for job in sorted(range(len(out)), key=lambda job: (-problem.density(job), job)):
        if out[job] != LEFT and out[job] != problem.told[job]:
            minutes = problem.minutes[job]
            room[out[job]] += minutes
            out[job] = next(
                day
                for day in problem.days[job]
                if room[day] >= minutes and not problem.barring(job, day, out)
            )
            room[out[job]] -= minutes
    return out
