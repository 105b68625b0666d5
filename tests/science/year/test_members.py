"""Stratified draws against published normal quantiles and the moments of the truncated normal."""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.science.year.members import (
    DRAWS,
    normal_strata,
    picked_above,
    shuffled_strata,
    strata_above,
)


def test_strata_hit_published_quantiles() -> None:
    # Standard normal table (e.g. NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1).
    strata = normal_strata(5)
    assert strata[[3, 4]] == pytest.approx([0.524, 1.282], abs=5e-4)
    assert normal_strata(20)[-1] == pytest.approx(1.960, abs=5e-4)


def test_strata_have_the_moments_of_a_normal() -> None:
    strata = normal_strata(DRAWS)
    assert strata == pytest.approx(-strata[::-1])
    assert np.all(np.diff(strata) > 0)
    # Middles of equal shares lose a little of the tails: 3 % of the deviation at 25 draws.
    assert 0.95 < strata.std() < 1.0
    assert normal_strata(2000).std() == pytest.approx(1.0, abs=2e-3)


def test_shuffled_rows_hold_all_strata_in_an_order_of_their_own() -> None:
    rows = shuffled_strata(30, DRAWS, 1)
    assert rows.shape == (30, DRAWS)
    assert np.sort(rows, axis=1) == pytest.approx(np.tile(normal_strata(DRAWS), (30, 1)))
    assert len({tuple(row) for row in rows}) == 30
    assert np.array_equal(rows, shuffled_strata(30, DRAWS, 1))
    assert not np.array_equal(rows, shuffled_strata(30, DRAWS, 2))


def test_shuffled_rows_do_not_rise_together() -> None:
    # 750 pairs: the correlation of independent draws is within 0.1 nine times in ten and more.
    common = np.tile(normal_strata(DRAWS), 30)
    correlations = [np.corrcoef(common, shuffled_strata(30, DRAWS, salt).ravel())[0, 1] for salt in range(10)]
    assert np.abs(correlations).max() < 0.15
    assert abs(np.mean(correlations)) < 0.05


@pytest.mark.parametrize("bound", [-3.0, -1.0, 0.0, 1.0, 2.0])
def test_truncated_strata_have_the_mean_of_the_truncated_normal(bound: float) -> None:
    # Johnson, Kotz & Balakrishnan 1994, Continuous Univariate Distributions 1, 10.1: pdf(a) / (1 - cdf(a)).
    normal = NormalDist()
    expected = normal.pdf(bound) / (1.0 - normal.cdf(bound))
    found = strata_above(np.array([bound]), 400)[0]
    assert found.mean() == pytest.approx(expected, abs=0.01)


@given(st.lists(st.floats(-6.0, 9.0), min_size=1, max_size=5), st.integers(1, 60))
def test_truncated_strata_stay_above_their_bound(bounds: list[float], count: int) -> None:
    draws = strata_above(np.array(bounds), count)
    assert draws.shape == (len(bounds), count)
    assert np.all(draws >= np.array(bounds)[:, None])
    assert np.all(np.diff(draws, axis=1) >= 0)


def test_each_draw_may_have_a_bound_of_its_own() -> None:
    bounds = np.array([[-1.0, 0.0, 1.0, 2.0]] * 2)
    found = strata_above(bounds, 4)
    assert np.all(found >= bounds)
    alike = strata_above(np.full((1, 9), 0.7), 9)
    assert alike == pytest.approx(strata_above(np.array([0.7]), 9))


def test_draws_are_picked_as_often_as_the_normal_passes_their_bound() -> None:
    # Shares above 0 and above 1.282 (standard normal table): 50 and 10 %.
    bounds = np.repeat([0.0, 1.2816], 300)[None, :]
    picked = picked_above(bounds)
    assert picked.shape == bounds.shape
    assert (picked < 300).mean() == pytest.approx(5 / 6, abs=0.005)
    assert (
        picked_above(np.full((2, 5), 40.0)).tolist() == [[0, 1, 2, 3, 4]] * 2
    )  # past all hope they are alike


def test_no_bound_leaves_the_strata_as_they_are() -> None:
    assert strata_above(np.array([-math.inf]), DRAWS)[0] == pytest.approx(normal_strata(DRAWS))
