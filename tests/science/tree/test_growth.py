"""Leaf pairs and wire: made-up growth with known answers."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from calendar_core.science.tree.growth import (
    HEAT_SHARE,
    SIGMA_LN_HEAT_PER_PAIR,
    bite_rate,
    learned_heat_per_pair,
    pairs_grown,
    pairs_reached,
    wire_gap,
)
from calendar_core.science.year.learning import Learned
from calendar_core.science.year.members import DRAWS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

EVEN = np.cumsum(np.full((2, 100), 10.0), axis=1)
LN_80 = Learned(math.log(80.0), 0.05)

days_of_heat = arrays(np.int64, (2, 80), elements=st.integers(0, 250)).map(lambda tenths: tenths / 10)
sinces = st.floats(-3.0, 60.0)


def test_pairs_are_heat_since_the_cut() -> None:
    grown = pairs_grown(EVEN, 19.0, 80.0)
    assert grown.shape == EVEN.shape
    assert grown[0, [0, 19, 27, 59]] == pytest.approx([0.0, 0.0, 1.0, 5.0])
    assert pairs_grown(EVEN, -5.0, 80.0)[0, 7] == pytest.approx(1.0)  # a cut before the axis


def test_a_cut_within_a_day_has_its_part_of_it() -> None:
    assert pairs_grown(EVEN, 19.5, 80.0)[0, 20] == pytest.approx(5.0 / 80.0)


def test_entries_are_learned_in_closed_form() -> None:
    prior, spread = math.log(80.0), 0.4
    found = learned_heat_per_pair(prior, spread, [(4.0, 400.0)])
    precision = spread**-2 + SIGMA_LN_HEAT_PER_PAIR**-2
    expected = (prior * spread**-2 + math.log(100.0) * SIGMA_LN_HEAT_PER_PAIR**-2) / precision
    assert [found.mean, found.variance] == pytest.approx([expected, 1.0 / precision])


def test_many_entries_outweigh_the_prior() -> None:
    rng = np.random.default_rng(3)
    seen = [(3.0, 300.0 * math.exp(rng.normal(0.0, SIGMA_LN_HEAT_PER_PAIR))) for _ in range(60)]
    assert math.exp(learned_heat_per_pair(math.log(60.0), 0.5, seen).mean) == pytest.approx(100.0, rel=0.1)


def test_looks_that_found_nothing_teach_nothing() -> None:
    found = learned_heat_per_pair(4.4, 0.4, [(0.0, 300.0), (2.0, 0.0)])
    assert [found.mean, found.variance] == pytest.approx([4.4, 0.16])


def test_the_day_of_the_third_pair_is_known() -> None:
    labels = pairs_reached(EVEN, 9.0, 3.0, LN_80)
    assert labels.shape == (2, DRAWS)
    assert np.median(labels) == pytest.approx(9.0 + 24.0)
    sd = math.hypot(math.sqrt(0.05), SIGMA_LN_HEAT_PER_PAIR)
    expected = [9.0 + 24.0 * math.exp(sd * z) for z in (-1.2816, 1.2816)]  # normal table: 10 and 90 %
    assert np.quantile(labels, [0.1, 0.9]) == pytest.approx(expected, rel=0.03)


def test_eight_of_ten_ranges_hold() -> None:
    rng, heat, held = np.random.default_rng(8), np.cumsum(np.full((1, 2000), 10.0), axis=1), []
    for _ in range(400):
        own = rng.normal(math.log(80.0), 0.4)
        noise = rng.normal(0.0, SIGMA_LN_HEAT_PER_PAIR, 4)
        learned = learned_heat_per_pair(
            math.log(80.0), 0.4, [(3.0, 3.0 * math.exp(own + e)) for e in noise[:3]]
        )
        low, high = np.quantile(pairs_reached(heat, -1.0, 4.0, learned), [0.1, 0.9])
        held.append(low <= 0.4 * math.exp(own + noise[3]) - 1.0 <= high)
    assert 0.7 <= np.mean(held) <= 0.9


def test_too_little_heat_gives_never() -> None:
    assert np.isinf(pairs_reached(EVEN, 95.0, 3.0, LN_80)).all()


def test_usual_days_bite_after_the_usual_weeks() -> None:
    usual = np.full((2, 120), 12.0)
    rate = bite_rate(np.full((2, 120), 4.0), usual, usual)
    labels = wire_gap(rate, 9.0)
    assert labels.shape == (2, DRAWS)
    assert np.median(labels) == pytest.approx(9.0 + 28.0)
    assert labels.min() > 9.0 + 28.0 * 0.5
    assert labels.max() < 9.0 + 28.0 * 2.0


def test_stages_add_their_shares() -> None:
    # Two weeks at a four-week pace are half of the gap; the rest takes four weeks at an eight-week pace.
    weeks = np.where(np.arange(120) < 14, 4.0, 8.0)[None]
    usual = np.full((1, 120), 12.0)
    assert wire_gap(bite_rate(weeks, usual, usual), -1.0, 0.0, 1)[0, 0] == pytest.approx(13.0 + 28.0)


@pytest.mark.parametrize(("heat", "factor"), [(0.0, HEAT_SHARE[0]), (18.0, 1.5), (60.0, HEAT_SHARE[1])])
def test_heat_speeds_it_within_bounds(heat: float, factor: float) -> None:
    weeks, usual = np.full((1, 5), 2.0), np.full((1, 5), 12.0)
    assert bite_rate(weeks, np.full((1, 5), heat), usual)[0] == pytest.approx([factor / 14.0] * 5)


def test_in_winter_heat_is_not_compared() -> None:
    rate = bite_rate(np.full((1, 3), 8.0), np.array([[0.0, 0.5, 3.0]]), np.array([0.0, 0.1, 0.9]))
    assert rate[0] == pytest.approx([1.0 / 56.0] * 3)


def test_where_nothing_grows_wire_never_bites() -> None:
    heat = np.full((1, 30), 12.0)
    assert np.isinf(wire_gap(bite_rate(np.full((1, 30), np.inf), heat, heat), 0.0)).all()


@given(days_of_heat, days_of_heat, sinces, st.floats(0.5, 6.0))
def test_warmth_after_the_cut_never_delays(daily: Floats, more: Floats, since: float, pairs: float) -> None:
    warmer = daily + np.where(np.arange(daily.shape[1]) > since, more, 0.0)
    cool, warm = (pairs_reached(np.cumsum(each, axis=1), since, pairs, LN_80) for each in (daily, warmer))
    # Tolerance in heat: a day of next to none moves far in time what is rounding in its sum.
    reached = np.isfinite(warm) & np.isfinite(cool)
    assert np.all(warm[reached] <= cool[reached] + 1e-6)
    assert np.all(np.isfinite(warm) | np.isinf(cool))


@given(days_of_heat, sinces, st.floats(0.5, 6.0), st.floats(0.0, 3.0))
def test_more_pairs_never_come_earlier(daily: Floats, since: float, pairs: float, more: float) -> None:
    heat = np.cumsum(daily, axis=1)
    fewer, later = (pairs_reached(heat, since, n, LN_80) for n in (pairs, pairs + more))
    assert np.all(later >= fewer)
    assert np.all(fewer >= min(since, heat.shape[1]) - 1e-9)


@given(days_of_heat, days_of_heat, st.floats(-1.0, 30.0), st.floats(1.0, 8.0), st.floats(0.0, 4.0))
def test_wire_bites_no_later_in_warmth_and_no_earlier_in_slow_stages(
    daily: Floats, more: Floats, since: float, weeks: float, slower: float
) -> None:
    usual, pace = np.full_like(daily, 12.0), np.full_like(daily, weeks)
    warmer = daily + np.where(np.arange(daily.shape[1]) > since, more, 0.0)
    as_was = wire_gap(bite_rate(pace, daily, usual), since)
    assert np.all(wire_gap(bite_rate(pace, warmer, usual), since) <= as_was + 1e-6)
    assert np.all(wire_gap(bite_rate(pace + slower, daily, usual), since) >= as_was - 1e-6)
