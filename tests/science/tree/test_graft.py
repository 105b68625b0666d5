"""Grafts: made-up thickness with known answers; the ratios are those of common practice (1.15, two looks)."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.science.tree.graft import GraftState, graft_state

CLEARLY = 1.15
ratios = st.floats(0.8, 1.6)


def of(ratio: list[float], days: list[float] | None = None) -> GraftState:
    """State of a graft 5 mm thick before the trunk, looked at every 50 days."""
    when = [50.0 * i for i in range(len(ratio))] if days is None else days
    return graft_state([5.0] * len(ratio), [5.0 * each for each in ratio], when, threshold=CLEARLY)


def test_two_looks_over_the_threshold_make_it_ready() -> None:
    state = of([1.0, 1.1, 1.2, 1.3])
    assert (state.looks, state.ready, state.wait_days) == (2, True, 0.0)
    assert state.ratio == pytest.approx(1.3)
    assert state.trend == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("seen", "looks"),
    [
        ([1.4], 1),
        ([1.0, 1.4], 1),
        ([1.3, 1.1, 1.3], 1),
        ([1.2, 1.3, 1.1], 0),
        ([1.2, 1.4, 1.3], 3),  # thick, but thinner than it was: look again
        ([1.0, 1.0, 1.0], 0),
    ],
)
def test_anything_less_does_not(seen: list[float], looks: int) -> None:
    state = of(seen)
    assert (state.looks, state.ready) == (looks, False)


def test_equal_looks_at_the_threshold_are_enough() -> None:
    state = graft_state([4.0, 4.0], [4.6, 4.6], [0, 30], threshold=4.6 / 4.0)
    assert state.ready
    assert state.trend == pytest.approx(0.0)


def test_years_alone_sever_nothing() -> None:
    assert not of([1.0, 1.02, 1.03, 1.04], [0, 400, 800, 1200]).ready


def test_two_entries_of_a_day_are_one_look() -> None:
    state = of([1.0, 1.3, 1.4], [0, 60, 60])
    assert (state.looks, state.ready) == (1, False)
    assert state.ratio == pytest.approx(1.4)
    alone = of([1.3, 1.4], [60, 60])
    assert (alone.trend, alone.ready) == (None, False)


def test_the_trend_tells_how_long_it_still_takes() -> None:
    # 0.05 in 50 days: from 1.05 to 1.15 in 100.
    assert of([0.95, 1.0, 1.05]).wait_days == pytest.approx(100.0)
    assert of([1.05, 1.0]).wait_days == math.inf
    assert of([1.0, 1.0]).wait_days == math.inf
    assert of([1.0]).wait_days == math.inf


@pytest.mark.parametrize(
    ("entry", "out", "days", "told"),
    [
        ([], [], [], "at least one"),
        ([5.0], [5.0, 6.0], [0.0], "as many"),
        ([0.0], [5.0], [0.0], "above 0 mm"),
        ([5.0], [-1.0], [0.0], "above 0 mm"),
        ([5.0], [math.nan], [0.0], "above 0 mm"),
    ],
)
def test_what_does_not_fit_is_refused(
    entry: list[float], out: list[float], days: list[float], told: str
) -> None:
    with pytest.raises(ValueError, match=told):
        graft_state(entry, out, days, threshold=CLEARLY)


@given(st.lists(ratios, min_size=1, max_size=8), st.randoms(use_true_random=False))
def test_the_order_of_entry_does_not_matter(seen: list[float], random: Any) -> None:
    days = [50.0 * i for i in range(len(seen))]
    mixed = list(zip(seen, days, strict=True))
    random.shuffle(mixed)
    assert of([ratio for ratio, _ in mixed], [day for _, day in mixed]) == of(seen)


@given(st.lists(ratios, min_size=1, max_size=8), st.floats(0.01, 100.0))
def test_only_proportions_and_looks_decide(seen: list[float], slower: float) -> None:
    # However long or short the time between looks, ready is the same.
    state, stretched = of(seen), of(seen, [50.0 * slower * i for i in range(len(seen))])
    assert (state.ready, state.looks) == (stretched.ready, stretched.looks)
    assert state.ready == (state.looks >= 2 and seen[-1] * 5.0 / 5.0 >= seen[-2] * 5.0 / 5.0)
    assert (state.wait_days == 0.0) == (state.looks > 0)


@given(st.lists(ratios, min_size=2, max_size=8), st.floats(0.0, 0.5))
def test_a_thicker_last_look_never_waits_longer(seen: list[float], more: float) -> None:
    assert of([*seen[:-1], seen[-1] + more]).wait_days <= of(seen).wait_days * (1 + 1e-9) + 1e-9
