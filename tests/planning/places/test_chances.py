"""The chance that a place passes a line, against exact chances of independent normal days and drawn forecasts."""

from __future__ import annotations

from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.thermal import THERMAL
from calendar_core.planning.places.chances import ChanceLine
from tests.planning.made_up import knowledge
from tests.planning.places.made_places import (
    AXIS,
    NOISE_C,
    PLACES,
    SUMMER,
    chances,
    noise,
    with_forecast,
    years,
)

if TYPE_CHECKING:
    from calendar_core.knowledge.forms.places import RiskName
    from calendar_core.knowledge.words import ThermalProfile

MANY = 2000
FLAT = 4.0 + NOISE_C * noise(MANY, AXIS.n_days)  # every day of every year alike: mean 4, nights 5 below
NIGHT = NormalDist(-1.0, NOISE_C)
FALLING: tuple[RiskName, ...] = ("night", "nights", "killing")


def test_a_night_of_a_week_is_as_likely_as_of_seven_independent_nights() -> None:
    """Exact: one less the chance that none of seven passes."""
    flat = chances(FLAT).usual(ChanceLine("night", -6.0), "open")
    assert flat == pytest.approx(1 - (1 - NIGHT.cdf(-6.0)) ** 7, abs=0.01)


def test_the_mean_of_a_week_of_nights_is_spread_by_a_root_of_seven_less() -> None:
    """Exact: the standard deviation of the mean of seven independent normal nights."""
    found = chances(FLAT).usual(ChanceLine("nights", -2.0), "open")
    assert found == pytest.approx(NormalDist(-1.0, NOISE_C / 7**0.5).cdf(-2.0), abs=0.01)


def test_a_whole_day_is_held_against_its_mean_and_a_hot_one_against_its_maximum() -> None:
    """Exact, as above: days of mean 4 whose maximum is 9."""
    killing = chances(FLAT).usual(ChanceLine("killing", -4.0), "open")
    assert killing == pytest.approx(1 - (1 - NormalDist(4.0, NOISE_C).cdf(-4.0)) ** 7, abs=0.01)
    hot = chances(FLAT).usual(ChanceLine("heat", 16.0), "open")
    assert hot == pytest.approx(1 - NormalDist(9.0, NOISE_C).cdf(16.0) ** 7, abs=0.01)


@given(
    st.floats(-20, 20), st.floats(0.1, 5), st.sampled_from(FALLING), st.sampled_from(PLACES), st.booleans()
)
@settings(max_examples=30, deadline=None)
def test_a_colder_line_is_never_passed_more_surely(
    at_c: float, by_c: float, risk: RiskName, place: ThermalProfile, forecast: bool
) -> None:
    known = chances(years(), forecast_days=10 if forecast else 0)
    for of in (known.usual, known.ahead):
        assert (of(ChanceLine(risk, at_c - by_c), place) <= of(ChanceLine(risk, at_c), place) + 1e-12).all()


@given(st.floats(20, 40), st.floats(0.1, 5))
@settings(max_examples=20, deadline=None)
def test_a_hotter_line_is_never_passed_more_surely(at_c: float, by_c: float) -> None:
    known = chances(years(), forecast_days=10)
    for of in (known.usual, known.ahead):
        assert (
            of(ChanceLine("heat", at_c + by_c), "open") <= of(ChanceLine("heat", at_c), "open") + 1e-12
        ).all()


def test_the_usual_year_comes_every_year_and_does_not_see_the_forecast() -> None:
    cold = chances(with_forecast(years(), SUMMER, np.full(10, -30.0)), forecast_days=10)
    mild = chances(with_forecast(years(), SUMMER, np.full(10, 30.0)), forecast_days=10)
    line = ChanceLine("night", -4.0)
    assert (cold.usual(line, "open") == mild.usual(line, "open")).all()
    usual = mild.usual(line, "open")
    assert usual[365:] == pytest.approx(usual[:-365])


def test_beyond_the_forecast_and_before_today_there_is_the_usual_year() -> None:
    known = chances(with_forecast(years(), SUMMER, np.full(10, -30.0)), forecast_days=10)
    usual, ahead = (of(ChanceLine("night", -4.0), "open") for of in (known.usual, known.ahead))
    assert (ahead[:SUMMER] == usual[:SUMMER]).all()
    assert (ahead[SUMMER + 10 :] == usual[SUMMER + 10 :]).all()
    assert ahead[SUMMER] > 0.99
    assert usual[SUMMER] < 0.01


@pytest.mark.slow
@pytest.mark.parametrize(("lead", "told_c"), [(0, -5.0), (3, -7.0), (6, -9.0), (9, -12.0)])
def test_a_forecast_is_believed_as_far_as_such_forecasts_came_true(lead: int, told_c: float) -> None:
    """Drawn: nights, forecasts of them with the errors of config/hazards.toml, and of those that told so the share below."""
    rule, rng = knowledge().hazards.forecast_error.temperature_c, np.random.default_rng(5)
    error = rule.start + rule.per_day * lead
    night = rng.normal(NIGHT.mean, NOISE_C, 4_000_000)
    told = night + rng.normal(0.0, error, night.size)
    came = night[np.abs(told - told_c) < 0.1]
    assert came.size > 500
    days = np.full(lead + 1, 30.0)
    days[lead] = told_c + 5.0  # the mean of a day whose night is 5 below
    known = chances(with_forecast(FLAT, SUMMER, days), forecast_days=lead + 1, look_days=1)
    found = known.ahead(ChanceLine("night", -4.0), "open")[SUMMER + lead]
    assert found == pytest.approx((came < -4.0).mean(), abs=0.06)


def test_members_are_believed_as_they_are() -> None:
    mean = years(n_traces=4)
    mean[:, SUMMER : SUMMER + 10] = [[20.0], [20.0], [20.0], [-20.0]]
    known = chances(mean, forecast_days=10, members=4)
    assert known.ahead(ChanceLine("night", -4.0), "open")[SUMMER] == 0.25


@pytest.mark.parametrize("place", ["cold frame", "frost-free", "heated"])
def test_no_forecast_goes_below_what_a_place_is_kept_above(place: ThermalProfile) -> None:
    known = chances(with_forecast(years(), SUMMER, np.full(10, -40.0)), forecast_days=10)
    for risk in FALLING:
        assert not known.ahead(ChanceLine(risk, THERMAL[place].floor_c), place)[SUMMER : SUMMER + 10].any()
    assert known.ahead(ChanceLine("night", THERMAL[place].floor_c + 1.0), place)[SUMMER] > 0.5
