"""Jobs on weeks of which some exclude one another: the solver's answer against every choice there is. All made up."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from calendar_core.planning.review.assignment import NOWHERE, assigned

Job = tuple[int, int, int, int, int]  # worth, minutes, whose, first and last week
JOBS = st.lists(
    st.tuples(
        st.integers(1, 4), st.integers(10, 60), st.integers(0, 2), st.integers(0, 2), st.integers(0, 2)
    ),
    max_size=5,
)
ROOM = st.lists(st.integers(0, 90), min_size=3, max_size=3)


def solved(jobs: list[Job], room: list[int]) -> list[int]:
    worth, minutes, whose = (np.array([job[k] for job in jobs], dtype=np.int64) for k in range(3))
    week = np.arange(len(room))
    open_on = np.array([(week >= job[3]) & (week <= job[4]) for job in jobs]).reshape(len(jobs), len(room))
    places, proven = assigned(worth, minutes, open_on, np.array(room, dtype=np.int64), whose)
    assert proven
    return places


def best(jobs: list[Job], room: list[int]) -> int:
    """Return what the best of all choices keeps."""
    most = 0
    for places in product((NOWHERE, 0, 1, 2), repeat=len(jobs)):
        done = [(job, place) for job, place in zip(jobs, places, strict=True) if place != NOWHERE]
        whose = [job[2] for job, _ in done]
        if len(set(whose)) < len(whose) or any(not job[3] <= place <= job[4] for job, place in done):
            continue
        if all(sum(job[1] for job, at in done if at == week) <= room[week] for week in range(3)):
            most = max(most, sum(job[0] for job, _ in done))
    return most


@settings(max_examples=60, deadline=None)
@given(jobs=JOBS, room=ROOM)
def test_the_answer_is_that_of_trying_every_choice(jobs: list[Job], room: list[int]) -> None:
    if not jobs:
        return
    places = solved(jobs, room)
    done = [(job, place) for job, place in zip(jobs, places, strict=True) if place != NOWHERE]
    assert len({job[2] for job, _ in done}) == len(done)
    assert all(job[3] <= place <= job[4] for job, place in done)
    for week in range(3):
        assert sum(job[1] for job, place in done if place == week) <= room[week]
    assert sum(job[0] for job, _ in done) == best(jobs, room)


@pytest.mark.parametrize("seed", range(6))
def test_of_many_rivals_each_tree_still_gets_one_at_most(seed: int) -> None:
    """So many that the linear program goes first: 150 trees with two windows each, more than there is room for.

    No choice can keep more than the program without whole numbers, solved here by another of SciPy's doors.
    """
    draw, n, weeks = np.random.default_rng(seed), 150, 10
    whose = np.repeat(np.arange(n), 2)
    open_on = np.tile(np.array([[True] * 6 + [False] * 4, [False] * 4 + [True] * 6]), (n, 1))
    worth, minutes = draw.integers(1, 5, 2 * n), draw.integers(20, 60, 2 * n)
    room = draw.integers(150, 400, weeks)
    places, _ = assigned(worth, minutes, open_on, room, whose)
    done = [job for job, place in enumerate(places) if place != NOWHERE]
    assert len({int(whose[job]) for job in done}) == len(done)
    for week in range(weeks):
        assert sum(int(minutes[job]) for job in done if places[job] == week) <= room[week]
    cell, at = np.nonzero(open_on)
    once = (whose[cell] == np.arange(n)[:, None]).astype(float)
    used = (at == np.arange(weeks)[:, None]) * minutes[cell]
    bound = linprog(-worth[cell], np.vstack([once, used]), [*np.ones(n), *room], bounds=(0, 1))
    kept = sum(int(worth[job]) for job in done)
    assert kept >= 0.96 * -bound.fun  # of seven or so a week, one that does not fit counts for much
