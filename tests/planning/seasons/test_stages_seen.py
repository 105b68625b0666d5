"""What the grower saw, or looked for in vain, moves the stages of the same spring."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.planning.seasons.axis import axis_for
from calendar_core.planning.seasons.stage_groups import gap_to
from calendar_core.planning.seasons.stage_run import COMMON_SHARE, StageRun
from calendar_core.science.year.learning import SIGMA_LN_HEAT
from calendar_core.science.year.stages import crossing, sum_at
from tests.planning.made_up import air_of, group_of, profile_of, wave, wave_air

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

CYCLE = 2015
STAGES: dict[str, dict[str, object]] = {
    "swell": {"before": {"stage": "break", "days": 17, "spread_days": 5}},
    "break": {"before": {"stage": "leaves", "days": 10, "spread_days": 4}},
    "leaves": {"need": {"ln_heat": 4.4, "spread": 0.4}},
    "full": {"after": {"stage": "break", "days": 32, "spread_days": 6, "heat": 295}},
    "hard": {"after": {"stage": "full", "days": 14, "spread_days": 6}},
    "flowers": {"need": {"ln_heat": 6.0, "spread": 0.4}},
    "stop": {"day_length": {"below_h": 12.5, "spread_days": 0.001}},
    "colour": {"climate_fall": {"mean_c": 12, "window_days": 31, "spread_days": 8}},
}
TREE = profile_of(STAGES)
AXIS = axis_for(45.0, (CYCLE,))
AIR = air_of(AXIS, np.stack([wave(AXIS.start, AXIS.n_days) + off for off in np.linspace(-2, 2, 30)]))
ORDER = list(TREE.stages)


def run(
    seen: Mapping[str, int] | None = None, not_yet: Mapping[str, int] | None = None
) -> Mapping[str, Floats]:
    """Labels of one tree by what was seen and looked for in vain, as day indices."""
    group = group_of(TREE, seen=tuple((seen or {}).items()), not_yet=tuple((not_yet or {}).items()))
    return StageRun(AIR, TREE, CYCLE, [group]).run().labels


UNSEEN = run()
USUAL = {name: round(float(np.median(labels))) for name, labels in UNSEEN.items()}


def spread(labels: Floats) -> float:
    low, high = np.quantile(labels, (0.1, 0.9))
    return float(high - low)


# Seen


@given(st.sampled_from(ORDER), st.integers(-20, 20))
@settings(max_examples=60, deadline=None)
def test_a_stage_seen_came_on_its_day_and_the_others_keep_their_order(stage: str, off: int) -> None:
    day = USUAL[stage] + off
    found = run({stage: day})
    # Within the day it was seen on.
    assert (np.ceil(found[stage]) == day).all()
    for earlier in ORDER[: ORDER.index(stage)]:
        assert (found[earlier] <= day).all()
    for later in ORDER[ORDER.index(stage) + 1 :]:
        assert (np.ceil(found[later]) >= day).all()


def test_stages_before_one_that_was_seen_are_not_moved_without_need() -> None:
    found = run({"hard": USUAL["hard"] + 60})
    np.testing.assert_array_equal(found["break"], UNSEEN["break"])


def test_what_is_so_many_days_later_follows_what_was_seen() -> None:
    day = USUAL["break"] - 12
    found = run({"break": day})
    assert np.median(found["leaves"]) == pytest.approx(day - 0.5 + 10)
    assert spread(found["leaves"]) < spread(UNSEEN["leaves"])
    assert np.median(found["full"]) < np.median(UNSEEN["full"]) - 5
    # Two steps of the chain: days add up, and so do the squares of their spreads.
    assert gap_to(TREE, "swell", "leaves") == (27, math.hypot(5, 4))
    swell = run({"swell": USUAL["swell"]})
    assert np.median(swell["leaves"]) == pytest.approx(USUAL["swell"] - 0.5 + 27)
    assert np.median(swell["break"]) == pytest.approx(USUAL["swell"] - 0.5 + 17, abs=1.0)


def test_the_next_stage_of_a_chain_is_as_sure_as_its_own_step() -> None:
    # 80 % of a normal lie within 1.28 sd.
    assert spread(run({"swell": USUAL["swell"]})["break"]) == pytest.approx(2 * 1.28 * 5, rel=0.1)


def test_the_latest_of_several_stages_seen_leads() -> None:
    found = run({"swell": USUAL["swell"], "break": USUAL["break"] + 9})
    assert np.median(found["leaves"]) == pytest.approx(USUAL["break"] + 9 - 0.5 + 10)


def test_autumn_and_light_do_not_follow_spring() -> None:
    found = run({"break": USUAL["break"] - 12})
    np.testing.assert_array_equal(found["stop"], UNSEEN["stop"])
    np.testing.assert_array_equal(found["colour"], UNSEEN["colour"])


def test_each_tree_has_what_was_seen_of_it() -> None:
    groups = [group_of(TREE), group_of(TREE, seen=(("break", USUAL["break"] - 12),))]
    both = StageRun(AIR, TREE, CYCLE, groups).run().labels
    for name in ("break", "leaves", "full", "hard", "flowers"):
        np.testing.assert_allclose(both[name][:, 0], UNSEEN[name][:, 0])
        np.testing.assert_allclose(both[name][:, 1], run({"break": USUAL["break"] - 12})[name][:, 0])


def test_where_no_spring_is_predicted_the_year_runs_from_what_was_seen() -> None:
    groups = [group_of(TREE, seen=(("break", 400),)), group_of(TREE)]
    found = StageRun(wave_air(0.0, mean_c=22.0, swing_c=1.0), TREE, CYCLE, groups).run()
    # A spring that was seen is there; that there is no winter is said of the other tree only.
    assert found.no_winter.tolist() == [0.0, 1.0]
    leaves, full = (found.labels[name][:, 0] for name in ("leaves", "full"))
    assert np.median(leaves) == pytest.approx(400 - 0.5 + 10)
    assert 400 + 32 < np.median(full) < 400 + 90  # little of that light counts as heat
    assert not np.isfinite(found.labels["flowers"]).any()  # a need of its own, which nothing was seen of
    assert not np.isfinite(found.labels["leaves"][:, 1]).any()


@pytest.mark.parametrize("off", [-15, 0, 15])
def test_an_early_spring_moves_later_needs_as_two_normals_do(off: int) -> None:
    """Given one of two jointly normal values the other is normal too.

    Source: the conditional mean and variance of a bivariate normal (any textbook, e.g. Anderson 1958, 2.5).
    """
    day = USUAL["leaves"] + off
    found = run({"leaves": day})["flowers"]
    heat = AIR.heat(CYCLE, ())
    seen = math.log(sum_at(heat, np.full((AIR.n_traces, 1), day - 0.5)).mean())
    tree, own = 0.4**2 + COMMON_SHARE * SIGMA_LN_HEAT**2, (1 - COMMON_SHARE) * SIGMA_LN_HEAT**2
    pull = tree / (tree + own)  # both stages have the same spread, so it is covariance over variance
    expected_sd = math.sqrt(tree + own - tree * pull)
    reached = np.log(sum_at(heat, found.reshape(AIR.n_traces, -1)))
    later = found.ravel() > day  # the rest is clipped to what was seen
    assert later.mean() > 0.99
    assert np.median(reached) == pytest.approx(6.0 + pull * (seen - 4.4), abs=0.02)
    assert reached.std() == pytest.approx(expected_sd, rel=0.1)


# Not yet


@given(st.integers(-30, 40))
@settings(max_examples=40, deadline=None)
def test_what_has_not_come_does_not_come_before_the_next_day(off: int) -> None:
    day = USUAL["break"] + off
    found = run(not_yet={"break": day})
    assert (np.ceil(found["break"]) > day).all()
    # What comes ten days later, and what follows, waits as well.
    assert np.median(found["leaves"]) > day + 9
    assert (found["full"] > day).all()


@given(st.integers(-30, 40), st.integers(0, 20))
@settings(max_examples=40, deadline=None)
def test_looking_in_vain_again_moves_it_later_only(off: int, more: int) -> None:
    first = run(not_yet={"break": USUAL["break"] + off})
    again = run(not_yet={"break": USUAL["break"] + off + more})
    for stage in ("break", "leaves", "full"):
        for share in (0.1, 0.5, 0.9):
            assert np.quantile(again[stage], share) >= np.quantile(first[stage], share) - 0.05


def test_looking_in_vain_narrows_the_range() -> None:
    found = run(not_yet={"break": USUAL["break"]})
    assert spread(found["break"]) < 0.8 * spread(UNSEEN["break"])
    late = run(not_yet={"break": USUAL["break"] + 15})
    assert spread(late["break"]) < spread(found["break"])


def test_a_look_long_before_says_nothing() -> None:
    found = run(not_yet={"break": USUAL["break"] - 60})
    for stage in ("break", "leaves"):
        for share in (0.1, 0.5, 0.9):
            assert np.quantile(found[stage], share) == pytest.approx(
                np.quantile(UNSEEN[stage], share), abs=1.0
            )


def test_not_yet_truncates_the_need_and_renormalises() -> None:
    """Source: the quantiles of a truncated normal; the median of what is left above a bound at the mean is its 75 %."""
    known = profile_of({"leaves": {"need": {"ln_heat": 4.4, "spread": 0.4}}})
    one_year = wave_air()
    heat = one_year.heat(CYCLE, ())
    at = int((heat[0] >= math.exp(4.4)).argmax())
    group = group_of(known, not_yet=(("leaves", at),))
    labels = StageRun(one_year, known, CYCLE, [group]).run().labels["leaves"]
    sd = math.hypot(0.4, SIGMA_LN_HEAT)
    above = (math.log(heat[0, at]) - 4.4) / sd
    half = 0.5 * math.erfc(-above / math.sqrt(2))
    middle = math.log(float(sum_at(heat, np.median(labels).reshape(1, 1))[0, 0]))
    quantile = 0.5 * math.erfc(-(middle - 4.4) / sd / math.sqrt(2))
    assert quantile == pytest.approx((1 + half) / 2, abs=0.01)


@pytest.mark.parametrize("stage", ["swell", "break"])
@pytest.mark.parametrize("off", [-10, 0, 5, 15])
def test_looking_in_vain_for_an_early_stage_leaves_the_members_in_which_it_had_not_come(
    stage: str, off: int
) -> None:
    """Against rejection sampling (von Neumann 1951): draw the model's own prior, keep what agrees with the look."""
    spring = profile_of({name: STAGES[name] for name in ("swell", "break", "leaves")})
    air = air_of(AXIS, np.tile(wave(AXIS.start, AXIS.n_days), (30, 1)))
    random, n = np.random.default_rng(1), 100_000
    need = np.exp(random.normal(4.4, math.hypot(0.4, SIGMA_LN_HEAT), n))
    prior = {"leaves": crossing(air.heat(CYCLE, ())[:1], need[None, None, :]).ravel()}
    prior["break"] = prior["leaves"] - random.normal(10, 4, n).clip(0)
    prior["swell"] = prior["break"] - random.normal(17, 5, n).clip(0)
    day = round(float(np.median(prior[stage]))) + off
    agree = prior[stage] > day
    found = StageRun(air, spring, CYCLE, [group_of(spring, not_yet=((stage, day),))]).run().labels
    for name, labels in prior.items():
        for share in (0.1, 0.5, 0.9):
            right = np.quantile(labels[agree], share)
            assert np.quantile(found[name], share) == pytest.approx(right, abs=1.2), (name, share)


def test_a_stage_seen_at_last_ends_the_looking() -> None:
    both = run({"break": USUAL["break"] + 5}, {"break": USUAL["break"] + 2})
    np.testing.assert_array_equal(both["break"], run({"break": USUAL["break"] + 5})["break"])
    assert np.median(both["leaves"]) == pytest.approx(USUAL["break"] + 5 - 0.5 + 10)


def test_flowers_wait_for_leaves_that_have_not_come() -> None:
    day = USUAL["flowers"]
    found = run(not_yet={"leaves": day})
    assert (found["flowers"] > day).all()
