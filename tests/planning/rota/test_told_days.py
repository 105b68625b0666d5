"""Work keeps the day it was told for: what may move it, and what may not.

The rule is the project's own (a day within the next two days changes by an answer, a warning, weather that forbids the
work, or a window that closes); the solver is held to it whatever the jobs.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.state import TreeState
from calendar_core.planning.events import ToldWork
from calendar_core.planning.rota.problem import Job
from calendar_core.planning.rota.quick import quick
from calendar_core.planning.rota.solver import exact, level
from calendar_core.planning.rota.tasks import Task, tasks_of
from calendar_core.planning.rota.told_days import NOTHING_TOLD, ToldDays, told_days
from tests.planning.rota.test_tasks import OPERATIONS, TODAY, WEEK, event, windows

NOON = datetime(2015, 6, 22, 12, tzinfo=UTC)


def day(days: int) -> date:
    return TODAY + timedelta(days=days)


def of_one(days: int, told: ToldDays, operation: str = "repot", closes: int = 30) -> tuple[Task, ...]:
    """The tasks of one tree's work that opens so many days from TODAY."""
    group = event(operation, 1, days, closes)
    return tasks_of([group], {UUID(int=0): TreeState()}, OPERATIONS, TODAY, np.array(WEEK * 4), told)


def told(*days: int, settled: int | None = 2, operation: str = "repot") -> ToldDays:
    item = event(operation, 1, 0, 30).items[0]
    until = None if settled is None else day(settled)
    return ToldDays({item.id: [day(place) for place in days]}, {}, until)


def test_work_is_asked_for_on_the_day_it_was_told_for() -> None:
    (task,) = of_one(0, told(5))
    assert (task.job.told, task.job.anew) == (day(5), day(3))
    (before,) = of_one(0, NOTHING_TOLD)
    assert (before.job.told, before.job.anew) == (None, day(0))


def test_a_day_that_its_window_no_longer_holds_is_none() -> None:
    (task,) = of_one(6, told(5))
    assert task.job.told is None


def test_what_closes_within_the_next_days_or_saves_a_tree_may_be_added_to_them() -> None:
    (closing,) = of_one(0, told(9), closes=2)
    assert closing.job.anew == day(0)
    item = replace(event("shelter in", 1, 0, 30).items[0], protects=True)
    assert told(settled=2).anew([item], day(0), day(30)) == day(0)


def test_what_was_told_for_a_day_that_went_by_may_be_added_but_not_what_was_answered() -> None:
    item = event("repot", 1, -3, 30).items[0]
    missed = ToldDays({}, {item.id: day(-1)}, day(2))
    assert missed.anew([item], day(0), day(30)) == day(0)
    answered = replace(item, opens=replace(item.opens, likely=day(0)))
    assert missed.anew([answered], day(0), day(30)) == day(3)


def test_trees_of_one_day_stay_together_and_the_next_time_is_counted_from_it() -> None:
    group = event("feeding", 3, -5, 40)
    known = ToldDays({item.id: [day(5)] for item in group.items[:2]}, {}, day(2))
    states = {UUID(int=place): TreeState() for place in range(3)}
    found = tasks_of([group], states, OPERATIONS, TODAY, np.array(WEEK * 5), known)
    assert [len(task.trees) for task in found if task.round == 0] == [2, 1]
    assert windows(tuple(task for task in found if task.sitting == 0))[:2] == [(0, 6), (19, 25)]


def test_only_days_ahead_count_and_what_had_no_time_was_told_for_no_day() -> None:
    rows = [
        ToldWork(UUID(int=1), day(-2), day(9), NOON),
        ToldWork(UUID(int=2), day(3), day(9), NOON),
        ToldWork(UUID(int=3), day(4), day(4), NOON, fits=False),
    ]
    found = told_days(rows, TODAY, day(-2), day(10))
    assert (dict(found.days), dict(found.missed)) == ({UUID(int=2): [day(3)]}, {UUID(int=1): day(-2)})
    assert dict(told_days(rows, TODAY, day(-1), day(10)).missed) == {}  # another day was told for it since
    assert found.settled == day(2)
    assert told_days(rows, TODAY, TODAY, day(1)).settled == day(1)
    assert told_days(rows, TODAY, TODAY, None).settled is None
    assert told_days(rows, TODAY, TODAY, day(-1)).settled is None


@st.composite
def known_days(draw: st.DrawFn) -> tuple[list[Job], np.ndarray]:
    """Jobs most of which were told for a day, and the free minutes of some days."""
    n_days = draw(st.integers(3, 8))
    free = np.array(draw(st.lists(st.integers(0, 120), min_size=n_days, max_size=n_days)), dtype=np.int64)
    jobs = []
    for place in range(draw(st.integers(0, 8))):
        first = draw(st.integers(0, n_days - 1))
        last = first + draw(st.integers(0, n_days))
        on = draw(st.none() | st.integers(first, last))
        jobs.append(
            Job(
                f"job {place}", draw(st.integers(5, 90)), day(first), day(last), draw(st.integers(1, 99)),
                told=None if on is None else day(on), anew=day(max(first, 3)),
            )
        )  # fmt: skip
    return jobs, free


@settings(max_examples=60, deadline=None)
@given(known_days())
def test_no_work_is_put_on_a_settled_day_it_was_not_told_for(problem: tuple[list[Job], np.ndarray]) -> None:
    jobs, free = problem
    for solve in (quick, exact, level):
        rota = solve(jobs, TODAY, free)
        for job in jobs:
            on = rota.days.get(job.id)
            assert on is None or on == job.told or on >= day(3)
        used = dict.fromkeys(rota.days.values(), 0)
        for job in jobs:
            if job.id in rota.days:
                used[rota.days[job.id]] += job.minutes
        assert all(minutes <= free[(on - TODAY).days] for on, minutes in used.items())


@settings(max_examples=60, deadline=None)
@given(known_days())
def test_a_rota_that_was_told_is_told_again(problem: tuple[list[Job], np.ndarray]) -> None:
    """Nothing new came: nothing moves, however often it is asked."""
    jobs, free = problem
    fresh = [replace(job, told=None, anew=None) for job in jobs]
    first = level(fresh, TODAY, free)
    again = level([replace(job, told=first.days.get(job.id)) for job in fresh], TODAY, free)
    assert again.kept >= first.kept
    assert again.kept > first.kept or again.days == first.days
