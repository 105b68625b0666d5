"""Wounds that close: made-up growth with known answers, and Neely's published widths as bounds."""

from __future__ import annotations

from dataclasses import astuple
from itertools import pairwise
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from calendar_core.science.tree.closing import (
    LONGEST_YEARS,
    SEASON_SPREAD,
    ClosingRate,
    closing_days,
    closing_prior,
    closing_years,
    goes_wrong_way,
    posterior,
)
from calendar_core.science.year.members import DRAWS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

# Neely 1979, J. Arboriculture 5(6):135, abstract: 11/16, 1/2, 3/8 inch closed in one season, by growth.
NEELY_MM = {"fast": 17.0, "moderate": 13.0, "slow": 10.0}
YEAR_HEAT = 2400.0  # about Champaign, Illinois, above 5 degC from April to October (made up)
SEASON_DAYS = 200
PRIOR = ClosingRate(0.005, 0.002)

widths = st.floats(1.0, 40.0)
rates = st.floats(0.0005, 0.02)
days_of_heat = arrays(np.int64, (2, 120), elements=st.integers(0, 250)).map(lambda tenths: tenths / 10)


def seasons(years: int, heat_a_year: float = YEAR_HEAT) -> Floats:
    """Sums of years that grow evenly for 200 days and rest for 165."""
    year = np.concatenate([np.full(SEASON_DAYS, heat_a_year / SEASON_DAYS), np.zeros(365 - SEASON_DAYS)])
    return np.cumsum(np.tile(year, years))[None]


def middle(labels: Floats) -> float:
    return float(np.quantile(labels, 0.5, method="nearest"))


@pytest.mark.parametrize("growth", NEELY_MM)
def test_neelys_widths_close_as_the_season_ends(growth: str) -> None:
    prior = closing_prior(NEELY_MM[growth], YEAR_HEAT)
    assert prior.mean * YEAR_HEAT == pytest.approx(NEELY_MM[growth])
    growing = np.cumsum(np.full((1, 3 * SEASON_DAYS), YEAR_HEAT / SEASON_DAYS), axis=1)  # no winter
    label = middle(closing_days(prior, [NEELY_MM[growth]], [0.0], growing))
    assert label == pytest.approx(SEASON_DAYS - 1, abs=SEASON_DAYS / 20)


@pytest.mark.parametrize(("slower", "faster"), [("slow", "moderate"), ("moderate", "fast")])
def test_a_width_of_the_next_class_needs_a_second_season(slower: str, faster: str) -> None:
    prior = closing_prior(NEELY_MM[slower], YEAR_HEAT)
    assert middle(closing_days(prior, [NEELY_MM[faster]], [0.0], seasons(2))) > 365


def test_twelve_millimetres_are_likely_to_close_in_a_year() -> None:
    # Neely 1988, J. Arboriculture 14(6):148, abstract: "less than 12 mm wide are likely to close in 1 year".
    labels = closing_days(closing_prior(NEELY_MM["moderate"], YEAR_HEAT), [11.9], [0.0], seasons(2))
    assert 0.5 < (labels < 365).mean() < 0.9


def test_wide_wounds_close_by_more_in_a_year_and_yet_not_sooner() -> None:
    # Neely 1988, J. Arboriculture 14(6):148, abstract: "large wounds close more in 1 year than small wounds".
    paces = [
        closing_prior(13.0, YEAR_HEAT, width_mm=mm, width_power=0.33).mean for mm in (6.0, 13.0, 26.0, 52.0)
    ]
    assert paces[0] == paces[1] < paces[2] < paces[3]
    assert paces[3] / paces[2] < 2.0


def test_years_to_close_are_width_by_rate() -> None:
    # By hand: 0.005 mm a degree-day, deviation hypot(0.001, 15 % of it) = 0.00125; 0.00660 and 0.00340 at 10 and 90 %,
    # a year of 2000 and 20 mm: 1.5 and 2.9 years. One that does not close is not told to the year.
    early, late = closing_years(ClosingRate(0.005, 0.001), 20.0, 2000.0)
    assert early == pytest.approx(1.515, abs=0.02)
    assert late == pytest.approx(2.943, abs=0.03)
    assert closing_years(ClosingRate(-0.002, 0.0001), 20.0, 2000.0)[1] == LONGEST_YEARS


def test_shares_multiply_and_widen() -> None:
    plain = closing_prior(13.0, YEAR_HEAT)
    potted = closing_prior(13.0, YEAR_HEAT, [(0.4, 0.6), (1.2, 1.5)])
    assert potted.mean == pytest.approx(plain.mean * 0.5 * 1.35)
    # Uniform shares: (high - low) / sqrt(12) by the middle, in quadrature.
    expected = np.sqrt((plain.sd / plain.mean) ** 2 + (0.2 / 0.5) ** 2 / 12 + (0.3 / 1.35) ** 2 / 12)
    assert potted.sd / potted.mean == pytest.approx(expected)


def test_one_width_leaves_the_prior() -> None:
    assert astuple(posterior(PRIOR, [12.0], [300.0])) == pytest.approx(astuple(PRIOR))


def test_widths_without_heat_between_them_teach_nothing() -> None:
    assert astuple(posterior(PRIOR, [12.0, 11.0, 12.5], [300.0] * 3)) == pytest.approx(astuple(PRIOR))


def test_update_is_generalised_least_squares_on_decreases() -> None:
    # Decreases that share a reading have the covariance 2, -1, 0 ... in units of the noise's variance.
    seen, heat, noise = np.array([12.0, 10.5, 9.8, 6.0]), np.array([0.0, 200.0, 500.0, 1100.0]), 0.4
    steps, fell = np.diff(heat), -np.diff(seen)
    inverse = np.linalg.inv(noise**2 * (2 * np.eye(3) - np.eye(3, k=1) - np.eye(3, k=-1)))
    precision = PRIOR.sd**-2 + steps @ inverse @ steps
    found = posterior(PRIOR, list(seen), list(heat), noise)
    assert found.mean == pytest.approx((PRIOR.mean * PRIOR.sd**-2 + steps @ inverse @ fell) / precision)
    assert found.sd == pytest.approx(precision**-0.5)


def test_three_exact_widths_tell_the_day() -> None:
    # 12 mm that lose 4 mm in 1000 degC d close at 3000; at 10 a day that is the label 299.
    seen, heat = [12.0, 10.0, 8.0], [0.0, 500.0, 1000.0]
    found = posterior(PRIOR, seen, heat, 0.01)
    assert found.mean == pytest.approx(0.004, rel=1e-3)
    labels = closing_days(found, seen, heat, np.cumsum(np.full((3, 500), 10.0), axis=1), noise_mm=0.01)
    assert labels.shape == (3, DRAWS)
    assert middle(labels) == pytest.approx(299.0, abs=3.0)


def test_the_range_is_that_of_the_rate() -> None:
    sd = np.hypot(0.001, SEASON_SPREAD * 0.005)
    labels = closing_days(
        ClosingRate(0.005, 0.001), [8.0], [0.0], np.arange(1.0, 9001.0)[None], noise_mm=1e-6, draws=400
    )
    for share in (0.1, 0.5, 0.9):
        expected = 8.0 / (0.005 + sd * NormalDist().inv_cdf(1.0 - share)) - 1
        assert np.quantile(labels, share) == pytest.approx(expected, rel=0.02)


def test_a_wound_seen_open_did_not_close_before() -> None:
    seen, heat = [12.0, 4.0, 2.0], [0.0, 600.0, 1200.0]
    labels = closing_days(
        posterior(PRIOR, seen, heat), seen, heat, np.cumsum(np.full((1, 400), 10.0), axis=1), noise_mm=3.0
    )
    assert labels.min() >= 119.0


def test_an_axis_too_short_or_without_warmth_gives_never() -> None:
    assert np.isinf(closing_days(PRIOR, [30.0], [0.0], np.full((2, 50), 100.0))).all()
    assert np.isinf(closing_days(PRIOR, [30.0], [0.0], np.zeros((2, 50)))).all()


def test_widths_from_before_the_axis_have_negative_sums() -> None:
    heat = np.cumsum(np.full((1, 400), 10.0), axis=1)
    seen, past = [10.0, 8.0, 7.0], np.array([200.0, 500.0, 700.0])
    rate = posterior(PRIOR, seen, list(past))
    whole = closing_days(rate, seen, list(past), heat)
    later = closing_days(rate, seen, list(past - heat[0, 99]), heat[:, 100:] - heat[0, 99])
    assert later == pytest.approx(whole - 100.0)


def test_a_wound_that_only_widens_never_closes_and_does_not_fail() -> None:
    seen, heat = [5.0, 7.0, 9.0, 11.0], [0.0, 1000.0, 2000.0, 3000.0]
    rate = posterior(PRIOR, seen, heat, 0.1)
    assert rate.mean < 0.0
    assert np.isinf(closing_days(rate, seen, heat, np.cumsum(np.full((1, 900), 10.0), axis=1))).all()


def test_one_width_that_grew_is_noise() -> None:
    heat = [0.0, 300.0, 600.0, 900.0]
    right, odd = posterior(PRIOR, [10.0, 9.0, 8.0, 7.0], heat), posterior(PRIOR, [10.0, 9.0, 9.3, 7.0], heat)
    assert abs(odd.mean - right.mean) < right.sd
    assert np.isfinite(closing_days(odd, [10.0, 9.0, 9.3, 7.0], heat, seasons(4))).all()


def test_the_odd_pair_is_told() -> None:
    assert goes_wrong_way([10.0, 9.0, 9.3, 7.0, 8.0]) == ((1, 2), (3, 4))
    assert goes_wrong_way([10.0, 9.0, 9.3, 7.0, 8.0], 0.5) == ((3, 4),)
    assert goes_wrong_way([]) == goes_wrong_way([3.0]) == goes_wrong_way([3.0, 3.0]) == ()


@pytest.mark.parametrize(("seen", "heat"), [([], []), ([9.0, 8.0], [0.0])])
def test_what_does_not_fit_is_refused(seen: list[float], heat: list[float]) -> None:
    with pytest.raises(ValueError, match="at least one"):
        posterior(PRIOR, seen, heat)
    with pytest.raises(ValueError, match="at least one"):
        closing_days(PRIOR, seen, heat, seasons(1))


@pytest.mark.parametrize("n_widths", [1, 2, 3, 6])
def test_eight_of_ten_ranges_hold(n_widths: int) -> None:
    # Made up as the model says: a rate from the prior, readings with noise, a season to come like none before.
    rng, prior, years = np.random.default_rng(5), closing_prior(13.0, YEAR_HEAT, [(0.4, 0.6)]), seasons(30)
    heat = np.linspace(0.0, YEAR_HEAT, n_widths) if n_widths > 1 else np.zeros(1)
    held, drawn = [], rng.normal(prior.mean, prior.sd, 400)
    for own in drawn[drawn > 0.0]:
        true = rng.uniform(20.0, 40.0) - own * heat  # too wide for one season, so that none drops out
        seen = list(true + rng.normal(0.0, 0.5, n_widths))
        closes = heat[-1] + true[-1] / (own * (1.0 + SEASON_SPREAD * rng.normal()))
        labels = closing_days(posterior(prior, seen, list(heat)), seen, list(heat), years)
        low, high = np.quantile(labels, [0.1, 0.9], method="nearest")
        held.append(low <= np.searchsorted(years[0], closes) <= high + 1)
    assert 0.7 <= np.mean(held) <= 0.9


@given(rates, widths, st.floats(0.0, 20.0), days_of_heat)
def test_a_wider_wound_never_closes_earlier(mean: float, width: float, more: float, daily: Floats) -> None:
    heat, rate = np.cumsum(daily, axis=1), ClosingRate(mean, 0.4 * mean)
    assert np.all(
        closing_days(rate, [width + more], [0.0], heat) >= closing_days(rate, [width], [0.0], heat) - 1e-9
    )


@given(st.lists(widths, min_size=2, max_size=6), st.floats(0.0, 20.0), days_of_heat)
def test_nor_does_one_whose_last_width_is_larger(seen: list[float], more: float, daily: Floats) -> None:
    heat, past = np.cumsum(daily, axis=1), list(-100.0 * np.arange(len(seen), 0, -1))
    wider = [*seen[:-1], seen[-1] + more]
    one, other = (closing_days(posterior(PRIOR, row, past), row, past, heat) for row in (seen, wider))
    assert np.all(other >= one - 1e-6)


@given(rates, widths, days_of_heat, days_of_heat)
def test_warmer_days_never_close_it_later(mean: float, width: float, daily: Floats, warmer: Floats) -> None:
    rate = ClosingRate(mean, 0.4 * mean)
    cool, warm = (
        closing_days(rate, [width], [0.0], np.cumsum(each, axis=1)) for each in (daily, daily + warmer)
    )
    assert np.all(warm <= cool + 1e-9)


@given(st.floats(2.0, 20.0), st.floats(1.0, 3.0), widths, days_of_heat)
def test_more_vigour_never_closes_it_later(mm: float, factor: float, width: float, daily: Floats) -> None:
    heat = np.cumsum(daily, axis=1)
    weak, strong = (
        closing_days(closing_prior(rate, YEAR_HEAT, [(0.4, 0.6)]), [width], [0.0], heat)
        for rate in (mm, mm * factor)
    )
    assert np.all(strong <= weak + 1e-9)


@given(st.lists(widths, min_size=1, max_size=8), rates, st.floats(0.05, 1.0))
def test_widths_never_make_the_rate_less_certain(seen: list[float], mean: float, share: float) -> None:
    prior = ClosingRate(mean, share * mean)
    sds = [posterior(prior, seen[:n], list(100.0 * np.arange(n))).sd for n in range(1, len(seen) + 1)]
    assert sds[0] <= prior.sd * (1 + 1e-9)
    assert all(later <= earlier * (1 + 1e-9) for earlier, later in pairwise(sds))
