"""Learning a tree's heat need, against an independent script (tests/oracles/stage-model.toml)."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.science.year.learning import ROBUST_WIDTH, SIGMA_LN_HEAT, learn
from tests.oracles.tables import facts

CASES = facts("stage-model.toml")["learning"]

prior_means = st.floats(3.5, 6.5)  # ln F of the woody species observed at Harvard Forest
prior_sds = st.sampled_from([0.35, 0.45, 0.6])  # the priors in use: species, genus, unknown
logged = st.floats(2.0, 8.0)


@pytest.mark.parametrize("case", CASES["case"], ids=lambda case: str(case["seen"]))
def test_update_agrees_with_an_independent_script(case: dict[str, Any]) -> None:
    found = learn(CASES["prior_mean"], CASES["prior_sd"], case["seen"], CASES["sigma"])
    assert found.mean == pytest.approx(case["mean"], abs=6e-6)
    assert found.variance == pytest.approx(case["variance"], abs=6e-6)
    assert found.weights == pytest.approx(case["weights"], abs=6e-5)


def test_one_wrong_date_among_three_costs_little() -> None:
    # The same script without weights is 0.32 of ln F, about five days, further off.
    case = next(case for case in CASES["case"] if "mean_without_weights" in case)
    found = learn(CASES["prior_mean"], CASES["prior_sd"], case["seen"], CASES["sigma"])
    right = learn(CASES["prior_mean"], CASES["prior_sd"], case["seen"][:2], CASES["sigma"])
    assert abs(found.mean - right.mean) < 0.1 < abs(case["mean_without_weights"] - right.mean)


@given(prior_means, prior_sds, logged)
def test_the_first_observation_never_moves_the_mean_away_from_itself(
    prior: float, sd: float, seen: float
) -> None:
    mean = learn(prior, sd, [seen], SIGMA_LN_HEAT).mean
    assert min(prior, seen) - 1e-9 <= mean <= max(prior, seen) + 1e-9


@given(prior_means, prior_sds, st.lists(st.floats(-2.5, 2.5), min_size=2, max_size=2))
def test_nor_does_the_second_where_both_lie_within_two_and_a_half_deviations(
    prior: float, sd: float, off: list[float]
) -> None:
    first, second = (prior + z * math.hypot(sd, SIGMA_LN_HEAT) for z in off)
    before = learn(prior, sd, [first], SIGMA_LN_HEAT).mean
    after = learn(prior, sd, [first, second], SIGMA_LN_HEAT).mean
    assert (after - before) * (second - before) >= -1e-9


@given(
    prior_means,
    prior_sds,
    st.floats(-0.6, 0.6),
    st.lists(st.floats(-ROBUST_WIDTH, ROBUST_WIDTH), min_size=2, max_size=8),
)
def test_nor_do_more_that_agree_by_more_than_a_third_of_a_day(
    prior: float, sd: float, own: float, off: list[float]
) -> None:
    # Weights that fall with distance make the mean lean on the nearest group of dates, so it may pass
    # an observation beside it: by 0.02 of ln F, a third of a day, among dates within 1.5 sigma of its own.
    seen = [prior + own + z * SIGMA_LN_HEAT for z in off]
    before = learn(prior, sd, seen[:-1], SIGMA_LN_HEAT).mean
    after = learn(prior, sd, seen, SIGMA_LN_HEAT).mean
    assert (after - before) * math.copysign(1.0, seen[-1] - before) >= -0.02


@given(prior_means, prior_sds, st.lists(logged, max_size=8))
def test_the_mean_lies_among_prior_and_observations(prior: float, sd: float, seen: list[float]) -> None:
    found = learn(prior, sd, seen, SIGMA_LN_HEAT)
    assert min([prior, *seen]) - 1e-9 <= found.mean <= max([prior, *seen]) + 1e-9
    assert 0.0 < found.variance <= sd**2 + 1e-12
    assert len(found.weights) == len(seen)
    assert all(0.0 < weight <= 1.0 for weight in found.weights)


@given(prior_means, prior_sds, st.lists(logged, max_size=8), st.randoms(use_true_random=False))
def test_the_order_of_springs_does_not_matter(
    prior: float, sd: float, seen: list[float], random: Any
) -> None:
    mixed = list(seen)
    random.shuffle(mixed)
    once, again = (learn(prior, sd, row, SIGMA_LN_HEAT) for row in (seen, mixed))
    assert again.mean == pytest.approx(once.mean)
    assert again.variance == pytest.approx(once.variance)


@given(prior_means, prior_sds, st.floats(-0.2, 0.2), st.integers(1, 30))
def test_many_springs_outweigh_any_prior(prior: float, sd: float, own: float, years: int) -> None:
    # Normal theory: with all observations equal the prior keeps the share sigma^2 / (sigma^2 + n sd^2).
    found = learn(prior, sd, [prior + own] * years, SIGMA_LN_HEAT)
    share = SIGMA_LN_HEAT**2 / (SIGMA_LN_HEAT**2 + years * sd**2)
    assert found.mean == pytest.approx(prior + own * (1.0 - share))
    assert found.variance == pytest.approx(sd**2 * share)
