"""Chill against sums of chillR's formulas and of xclim (tests/oracles/chill.toml), and what must hold of any winter."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from calendar_core.science.year.chill import (
    chill_hours,
    chill_portions,
    dynamic_terms,
    intermediate_product,
    utah_units,
)
from tests.oracles.tables import facts

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

CHILL = facts("chill.toml")
XCLIM_ZERO_K = 273.15

weathers = arrays(np.float64, (2, 240), elements=st.floats(-30.0, 40.0))
coolness = arrays(np.float64, (2, 240), elements=st.floats(0.0, 12.0))  # in which portions are made
measures = pytest.mark.parametrize("measure", [chill_hours, utah_units, chill_portions])


def wave(case: dict[str, Any]) -> Floats:
    """Return the temperature of a case, written as its head has it: some hours are at 0 degC to the last bit."""
    h = np.arange(case["hours"])
    return np.asarray(case["mean_c"] + case["amplitude_c"] * np.sin(2 * np.pi * ((h % 24) - 9) / 24))


cases = pytest.mark.parametrize("case", CHILL["case"], ids=lambda case: str(case["name"]))


@cases
def test_chill_hours_and_utah_units(case: dict[str, Any]) -> None:
    assert chill_hours(wave(case)).sum() == case["chill_hours"]
    assert utah_units(wave(case)).sum() == case["utah"]


@cases
def test_portions(case: dict[str, Any]) -> None:
    assert chill_portions(wave(case)).sum() == pytest.approx(case["portions"], abs=5e-5)


@cases
def test_portions_at_the_other_zero_are_those_of_xclim(case: dict[str, Any]) -> None:
    assert chill_portions(wave(case), XCLIM_ZERO_K).sum() == pytest.approx(case["xclim_portions"], abs=5e-5)


def test_the_intermediate_product_of_a_constant_night() -> None:
    case = CHILL["constant_6"]
    terms = dynamic_terms(np.full((6, 1), 6.0))
    level, becoming, break_rate = (float(term[0, 0]) for term in terms)
    assert [level, becoming] == pytest.approx([case["xs"], case["xi"]], abs=5e-7)
    assert break_rate == pytest.approx(case["k1"], abs=5e-8)
    product = intermediate_product(*terms)[:, 0]
    assert product[0] == 0.0
    assert product[1:] == pytest.approx(case["product"], abs=5e-8)


def test_utah_intervals_hold_their_upper_edge() -> None:
    for above, upto, weight in CHILL["utah"]["intervals"]:
        inside = np.array([np.nextafter(above, upto), (above + upto) / 2, upto])
        assert utah_units(inside).tolist() == [weight] * 3


def test_chill_hours_hold_both_ends() -> None:
    # Bounds as coded in chillR 0.77.
    edges = np.array([np.nextafter(0.0, -1.0), 0.0, 7.2, np.nextafter(7.2, 8.0)])
    assert chill_hours(edges).tolist() == [0.0, 1.0, 1.0, 0.0]


def test_a_hot_afternoon_undoes_what_is_not_yet_a_portion() -> None:
    # Fishman et al. 1987: the first step can be reversed by warmth, a portion cannot.
    cold = np.full(20, 6.0)  # not yet long enough for a portion, which takes 28 hours
    again = np.full(20, 6.0)
    assert chill_portions(np.concatenate([cold, again])).sum() > 0.9
    assert chill_portions(np.concatenate([cold, np.full(12, 35.0), again])).sum() == 0.0
    made = np.concatenate([cold, again, np.full(500, 35.0)])
    assert chill_portions(made).sum() == pytest.approx(chill_portions(made[:40]).sum())


@given(weathers | coolness)
def test_the_sum_of_portions_never_falls(weather: Floats) -> None:
    assert np.all(chill_portions(weather) >= 0.0)


@pytest.mark.slow
@given(weathers, st.integers(1, 239))
@measures
def test_later_hours_change_nothing_before(
    measure: Callable[[Floats], Floats], weather: Floats, cut: int
) -> None:
    assert measure(weather)[:, :cut] == pytest.approx(measure(weather[:, :cut]), abs=1e-12)


@pytest.mark.slow
@given(weathers | coolness)
@measures
def test_traces_do_not_meet_and_keep_their_shape(
    measure: Callable[[Floats], Floats], weather: Floats
) -> None:
    alone = np.stack([measure(trace) for trace in weather])
    assert measure(weather) == pytest.approx(alone, abs=1e-12)
    assert measure(weather.reshape(2, 1, 240)).shape == (2, 1, 240)


@given(weathers)
def test_no_hour_counts_more_than_one(weather: Floats) -> None:
    assert np.all(np.abs(utah_units(weather)) <= 1.0)
    assert np.all(np.isin(chill_hours(weather), [0.0, 1.0]))


@given(st.sampled_from(CHILL["utah"]["intervals"]), st.floats(0.01, 0.99))
def test_a_constant_year_is_its_weight_each_hour(interval: list[float], part: float) -> None:
    above, upto, weight = interval
    assert utah_units(np.full(8760, above + part * (upto - above))).sum() == 8760 * weight


@given(weathers)
def test_an_argument_is_left_as_it_was(weather: Floats) -> None:
    before = weather.copy()
    chill_portions(weather)
    assert np.array_equal(weather, before)
