"""The work list that keeps the most: the quick answer of levelling, and the exact one where there are few jobs."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.rota.problem import LEFT, NONE_APART, Problem
from calendar_core.planning.rota.quick import quick

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from numpy.typing import NDArray

    from calendar_core.planning.rota.problem import Apart, Job, Rota

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]

CELLS = 150  # pairs of job and day up to which the exact answer is asked for: seconds at worst
NODES = 200  # branches the solver may search; then its best is taken, and not called proven
EARLY_GAP = 0.01  # how far from the earliest the exact answer may be: days matter less than what is kept

Constraint = tuple["Floats", float, float]  # rows, and what their sums must lie between


def level(jobs: Sequence[Job], start: date, free: Ints, apart: Apart = NONE_APART) -> Rota:
    """Return the jobs on the days from ``start`` on with ``free`` minutes (n_days,), pairs of ``apart`` apart.

    Going on from the answer, as whoever is told it will, gains nothing more: asked again, it is the same.
    """
    best = _level(jobs, start, free, apart)
    while not best.proven:
        again = _level([replace(job, told=best.days.get(job.id)) for job in jobs], start, free, apart)
        if again.kept <= best.kept:
            break
        best = again
    return best


def _level(jobs: Sequence[Job], start: date, free: Ints, apart: Apart) -> Rota:
    """Return the `exact` answer only where the `quick` one leaves something out and there are few enough of them."""
    fast = quick(jobs, start, free, apart)
    if fast.proven or Problem(jobs, start, free, apart).cells > CELLS:
        return fast
    best = exact(jobs, start, free, apart)
    if best.kept == fast.kept and any(job.told for job in jobs):
        return replace(
            fast, proven=best.proven
        )  # of two that keep as much, that which moves less of what was told
    return best if best.kept >= fast.kept else fast


def exact(jobs: Sequence[Job], start: date, free: Ints, apart: Apart = NONE_APART) -> Rota:
    """Return the rota that keeps the most worth and, of those, the one that does what is worth most the earliest.

    What was told for a day stays there before other work is done earlier.
    Two mixed-integer programs, solved one after the other by HiGHS.
    """
    problem = Problem(jobs, start, free, apart)
    cells = [(job, day) for job, days in enumerate(problem.days) for day in days]
    places = [LEFT] * len(problem.jobs)
    if not cells:
        return problem.rota(places, proven=True)
    taken, proven = _solved(problem, *np.array(cells).T)
    for (job, day), yes in zip(cells, taken, strict=True):
        if yes:
            places[job] = day
    return problem.rota(places, proven=proven)


def _solved(problem: Problem, job: Ints, day: Ints) -> tuple[list[bool], bool]:
    """Return which pairs of job and day are taken, and whether that is proven to keep the most."""
    n_days = len(problem.free)
    once = (job == np.arange(len(problem.jobs))[:, None]).astype(float)
    share = np.array(problem.minutes)[job] / problem.free[day]  # the solver likes numbers about 1
    room = np.where(day == np.arange(n_days)[:, None], share, 0.0)
    limits: list[Constraint] = [(once, 0.0, 1.0), (room, 0.0, 1.0), *_clashes(problem, job, day)]
    worth = np.array(problem.worth)[job] / max(sum(problem.worth), 1)
    best, proven = _milp(-worth, limits, 0.0)
    kept = (worth[None, :], float(worth @ best) - 0.5 / max(sum(problem.worth), 1), np.inf)
    stays = np.array(problem.told)[job] == day
    early, _ = _milp(-worth * (n_days - day + n_days * stays), [*limits, kept], EARLY_GAP)
    return ((early if early.any() else best) > 0.5).tolist(), proven


def _clashes(problem: Problem, job: Ints, day: Ints) -> Iterator[Constraint]:
    """Yield for each cell of a pair that is kept apart that it excludes the cells of the other too near to it."""
    rows = []
    for cell in range(job.size):
        later = day - day[cell]
        for other, after, before in problem.apart[job[cell]]:
            near = ((later >= 0) & (later < before)) | ((later <= 0) & (-later < after))
            rows.append((np.arange(job.size) == cell) | ((job == other) & near))
    if rows:
        yield np.array(rows, dtype=float), 0.0, 1.0


def _milp(cost: Floats, limits: Sequence[Constraint], gap: float) -> tuple[Floats, bool]:
    """Return the 0-or-1 values of least cost, and whether that is proven; all 0 if the search gave up."""
    from scipy.optimize import Bounds, milp  # noqa: PLC0415 - slow to load, and nothing else needs it

    search = {"mip_rel_gap": gap, "node_limit": NODES}
    solution = milp(cost, constraints=limits, integrality=1, bounds=Bounds(0, 1), options=search)
    return (np.zeros_like(cost) if solution.x is None else np.round(solution.x)), solution.status == 0
