"""Levelling: what is kept fits, nothing better is left out, and the quick answer is near the exact one (HiGHS)."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from itertools import permutations, product
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.planning.rota.problem import ENDS, WAITS, Job
from calendar_core.planning.rota.quick import quick
from calendar_core.planning.rota.solver import CELLS, exact, level

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from random import Random

    from numpy.typing import NDArray

    from calendar_core.planning.rota.problem import Rota

    Ints = NDArray[np.int64]
    Problem = tuple[list[Job], Ints]

START = date(2015, 6, 22)
BOTH = pytest.mark.parametrize("solve", [exact, quick])


def job(name: str, minutes: int, first: int, last: int, value: int = 1) -> Job:
    """A job whose window is given in days from START."""
    return Job(name, minutes, START + timedelta(days=first), START + timedelta(days=last), value)


def days_of(rota: Rota) -> dict[str, int]:
    return {name: (day - START).days for name, day in rota.days.items()}


def free(*minutes: int) -> Ints:
    return np.array(minutes, dtype=np.int64)


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    n_days = draw(st.integers(1, 6))
    minutes = free(*draw(st.lists(st.integers(0, 150), min_size=n_days, max_size=n_days)))
    jobs = []
    for i in range(draw(st.integers(0, 9))):
        first = draw(st.integers(-2, n_days))
        last = first + draw(st.integers(0, n_days))
        jobs.append(job(f"job {i}", draw(st.integers(1, 120)), first, last, draw(st.integers(1, 99))))
    return jobs, minutes


@st.composite
def crowded(draw: st.DrawFn) -> tuple[list[Job], Ints, dict[tuple[str, str], int]]:
    """A problem with pairs of jobs of which one must wait some days after the other, or each after the other."""
    jobs, minutes = draw(problems())
    apart = {}
    for pair in permutations([one.id for one in jobs], 2):
        if draw(st.booleans()):
            apart[pair] = draw(st.integers(1, 7))
    return jobs, minutes, apart


def too_near(days: Mapping[str, int], apart: Mapping[tuple[str, str], int]) -> list[tuple[str, str]]:
    """The pairs of an earlier and a later job, or of one day, between which too few days pass."""
    both = {pair: [days[name] for name in pair] for pair in apart if all(name in days for name in pair)}
    return [pair for pair, (one, other) in both.items() if 0 <= other - one < apart[pair]]


def worth(jobs: Sequence[Job], names: Sequence[str], n_days: int) -> int:
    """The worth of jobs by hand: in full if they end within the days."""
    by_name = {one.id: one for one in jobs}
    ends = START + timedelta(days=n_days)
    return sum(by_name[n].value * (ENDS if by_name[n].last < ends else WAITS) for n in names)


def is_sound(rota: Rota, jobs: Sequence[Job], minutes: Ints) -> None:
    used: Counter[int] = Counter()
    by_name = {one.id: one for one in jobs}
    for name, day in rota.days.items():
        assert by_name[name].first <= day <= by_name[name].last
        used[(day - START).days] += by_name[name].minutes
    assert all(0 <= day < len(minutes) and total <= minutes[day] for day, total in used.items())
    assert sorted([*rota.days, *(one.job.id for one in rota.left)]) == sorted(by_name)
    assert rota.kept == worth(jobs, list(rota.days), len(minutes))


@pytest.mark.slow
@BOTH
@given(problem=problems())
@settings(max_examples=60)
def test_nothing_is_over_a_days_time_or_outside_its_window(
    solve: Callable[..., Rota], problem: Problem
) -> None:
    jobs, minutes = problem
    is_sound(solve(jobs, START, minutes), jobs, minutes)


@pytest.mark.slow
@given(problem=problems())
@settings(max_examples=100)
def test_the_quick_answer_is_never_better_than_the_exact_one_and_hardly_worse(problem: Problem) -> None:
    jobs, minutes = problem
    best, fast = exact(jobs, START, minutes), quick(jobs, START, minutes)
    assert best.proven
    assert 0.9 * best.kept <= fast.kept <= best.kept
    assert fast.kept == best.kept or not fast.proven


@pytest.mark.slow
def test_the_quick_answer_keeps_nearly_all_the_exact_one_keeps() -> None:
    chance, shares = np.random.default_rng(7), []
    for _ in range(60):
        n_days = int(chance.integers(1, 8))
        minutes = chance.integers(0, 200, n_days)
        spans = [(int(chance.integers(n_days)), int(chance.integers(n_days))) for _ in range(14)]
        jobs = [
            job(str(i), int(chance.integers(1, 120)), first, first + length, int(chance.integers(1, 100)))
            for i, (first, length) in enumerate(spans)
        ]
        best = exact(jobs, START, minutes).kept
        shares.append(quick(jobs, START, minutes).kept / best if best else 1.0)
    print(f"share of the exact answer's worth kept: least {min(shares):.3f}, mean {np.mean(shares):.4f}")
    assert min(shares) >= 0.9
    assert np.mean(shares) >= 0.995


@given(problem=problems(), day=st.integers(0, 5), more=st.integers(1, 200))
@settings(max_examples=60)
def test_more_free_time_never_loses_worth(problem: Problem, day: int, more: int) -> None:
    jobs, minutes = problem
    longer = minutes.copy()
    longer[day % len(minutes)] += more
    assert exact(jobs, START, longer).kept >= exact(jobs, START, minutes).kept


@pytest.mark.slow
@BOTH
@given(problem=problems(), chance=st.randoms(use_true_random=False))
@settings(max_examples=40)
def test_the_order_of_jobs_does_not_matter(
    solve: Callable[..., Rota], problem: Problem, chance: Random
) -> None:
    jobs, minutes = problem
    mixed = chance.sample(jobs, len(jobs))
    assert solve(mixed, START, minutes) == solve(jobs, START, minutes)


def by_hand(jobs: Sequence[Job], minutes: Ints, apart: Mapping[tuple[str, str], int]) -> int:
    """The most worth over every way to put jobs on days."""
    best, n = 0, len(minutes)
    for choice in product(range(-1, n), repeat=len(jobs)):
        used = [0] * n
        spans = [((one.first - START).days, (one.last - START).days) for one in jobs]
        for one, day in zip(jobs, choice, strict=True):
            if day >= 0:
                used[day] += one.minutes
        inside = all(day < 0 or a <= day <= z for day, (a, z) in zip(choice, spans, strict=True))
        days = {one.id: day for one, day in zip(jobs, choice, strict=True) if day >= 0}
        fits = all(u <= m for u, m in zip(used, minutes, strict=True))
        if inside and fits and not too_near(days, apart):
            taken = [one.id for one, day in zip(jobs, choice, strict=True) if day >= 0]
            best = max(best, worth(jobs, taken, n))
    return best


@given(problem=problems())
@settings(max_examples=40)
def test_the_exact_answer_is_the_best_of_all_there_are(problem: Problem) -> None:
    jobs, minutes = problem[0][:5], problem[1][:3]
    assert exact(jobs, START, minutes).kept == by_hand(jobs, minutes, {})


@given(problem=crowded())
@settings(max_examples=40)
def test_it_is_the_best_too_where_some_are_kept_apart(
    problem: tuple[list[Job], Ints, dict[tuple[str, str], int]],
) -> None:
    jobs, minutes = problem[0][:4], problem[1][:3]
    names = {one.id for one in jobs}
    apart = {pair: days for pair, days in problem[2].items() if names.issuperset(pair)}
    best, fast = exact(jobs, START, minutes, apart), quick(jobs, START, minutes, apart)
    assert best.kept == by_hand(jobs, minutes, apart)
    assert fast.kept <= best.kept


@pytest.mark.slow
@BOTH
@given(problem=crowded())
@settings(max_examples=60)
def test_what_is_kept_apart_lies_apart(
    solve: Callable[..., Rota], problem: tuple[list[Job], Ints, dict[tuple[str, str], int]]
) -> None:
    jobs, minutes, apart = problem
    rota = solve(jobs, START, minutes, apart)
    is_sound(rota, jobs, minutes)
    assert too_near(days_of(rota), apart) == []


@BOTH
def test_a_job_left_out_names_what_took_all_its_days(solve: Callable[..., Rota]) -> None:
    jobs = [job("structure", 60, 0, 3, 9), job("outline", 20, 0, 3, 1), job("long", 90, 0, 3)]
    far = {("structure", "outline"): 60, ("outline", "structure"): 60}
    rota = solve(jobs, START, free(60, 60, 60, 60), far)
    assert days_of(rota) == {"structure": 0}
    assert {one.job.id: one.beside for one in rota.left} == {"outline": ("structure",), "long": ()}
    near = {("structure", "outline"): 2, ("outline", "structure"): 2}
    assert days_of(solve(jobs, START, free(60, 60, 60, 60), near)) == {"structure": 0, "outline": 2}


@BOTH
def test_what_is_worth_most_is_kept_and_the_rest_is_told(solve: Callable[..., Rota]) -> None:
    jobs = [job("repot", 90, 0, 1, 52), job("look", 60, 0, 1, 2), job("wire", 120, 0, 9, 52)]
    rota = solve(jobs, START, free(100, 20, 60))
    assert days_of(rota) == {"repot": 0}
    assert [(one.job.id, one.cost, one.longest) for one in rota.left] == [("look", 2, 100), ("wire", 0, 100)]


@BOTH
def test_of_what_fits_all_comes_as_early_as_it_can(solve: Callable[..., Rota]) -> None:
    jobs = [job("more", 60, 0, 3, 9), job("less", 60, 0, 3, 1), job("later", 10, 2, 3, 5)]
    assert days_of(solve(jobs, START, free(60, 60, 60, 60))) == {"more": 0, "less": 1, "later": 2}


@BOTH
def test_a_job_longer_than_any_day_is_left_out_and_said_to_be(solve: Callable[..., Rota]) -> None:
    (left,) = solve([job("wire", 160, 0, 1)], START, free(120, 20)).left
    assert (left.longest, left.job.minutes) == (120, 160)


@BOTH
def test_without_jobs_or_without_days_there_is_nothing_to_choose(solve: Callable[..., Rota]) -> None:
    assert solve([], START, free(60)).proven
    assert solve([job("wire", 60, 0, 1)], START, free()).days == {}


def test_level_is_exact_where_few_are_left_out_and_quick_for_many() -> None:
    # Two of 55 minutes fill two days better than any order by worth of a minute does.
    few = [job("a", 60, 0, 0, 70), job("b", 50, 0, 0, 45), job("c", 50, 0, 0, 45)]
    assert level(few, START, free(100)).proven
    assert set(level(few, START, free(100)).days) == {"b", "c"}
    many = [job(str(i), 30, 0, 27, 1 + i % 7) for i in range(CELLS)]
    rota = level(many, START, free(*[60] * 28))
    assert len(rota.days) == 56
    assert not rota.proven
