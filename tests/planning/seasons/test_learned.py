"""What past springs and autumns teach about a tree, by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest

from calendar_core.planning.seasons.axis import axis_for
from calendar_core.planning.seasons.learned import sight_cycle, taught
from calendar_core.planning.seasons.stage_run import StageRun
from calendar_core.science.year.learning import SIGMA_AUTUMN_DAYS, SIGMA_LN_HEAT, UNKNOWN_WEATHER_LN_HEAT
from tests.planning.made_up import air_of, group_of, knowledge, profile_of, wave

if TYPE_CHECKING:
    from calendar_core.garden.thermal import History
    from calendar_core.planning.seasons.air import Air
    from calendar_core.planning.seasons.learned import Seen, Taught

TREE = profile_of(
    {
        "break": {"before": {"stage": "leaves", "days": 10, "spread_days": 4}},
        "leaves": {"need": {"ln_heat": 4.4, "spread": 0.45}},
        "flowers": {"need": {"ln_heat": 6.0, "spread": 0.4}},
        "colour": {"climate_fall": {"mean_c": 12, "window_days": 1, "spread_days": 8}},
    }
)
FALL = {"mean_c": 12, "window_days": 31, "spread_days": 8, "autumn_days_per_c": 0.8}
PRIOR = ((4.4, 0.45**2), (6.0, 0.4**2))


def year(cycle: int, latitude: float = 45.0) -> Air:
    axis = axis_for(latitude, (cycle,))
    return air_of(axis, wave(axis.start, axis.n_days, south=axis.south))


def learn(*seen: Seen, known: tuple[int, ...] = (2013, 2014), history: History = ()) -> Taught:
    return taught(TREE, seen, lambda cycle: year(cycle) if cycle in known else None, lambda _air: history)


def heat_at(label_day: date, cycle: int, history: History = ()) -> float:
    """Heat by noon of a day."""
    air = year(cycle)
    ends = air.heat(cycle, history)[0]
    return float((ends[air.axis.index(label_day) - 1] + ends[air.axis.index(label_day)]) / 2)


def weighed(prior: float, prior_sd: float, value: float, sigma: float) -> tuple[float, float]:
    """Mean and variance after one observation.

    Source: the conjugate update of a normal mean: weights are inverse variances (e.g. Gelman et al., BDA3, 2.5).
    """
    precision = 1 / prior_sd**2 + 1 / sigma**2
    return (prior / prior_sd**2 + value / sigma**2) / precision, 1 / precision


def is_prior(found: Taught) -> None:
    for got, expected in zip(found.needs, PRIOR, strict=True):
        assert got == pytest.approx(expected)


def test_nothing_seen_leaves_the_prior() -> None:
    is_prior(learn())
    assert learn().autumn is None


def test_one_spring_by_hand() -> None:
    day = date(2014, 4, 12)
    needs = learn(("leaves", 2014, day.toordinal())).needs
    expected = weighed(4.4, 0.45, math.log(heat_at(day, 2014)), SIGMA_LN_HEAT)
    assert needs[0] == pytest.approx(expected)
    assert needs[1] == pytest.approx(PRIOR[1])


def test_bud_break_speaks_for_the_leaves_ten_days_later() -> None:
    seen = learn(("break", 2014, date(2014, 4, 2).toordinal())).needs[0]
    assert seen == pytest.approx(learn(("leaves", 2014, date(2014, 4, 12).toordinal())).needs[0])


def test_of_one_spring_the_stage_nearest_to_the_need_speaks() -> None:
    both = learn(
        ("break", 2014, date(2014, 3, 1).toordinal()), ("leaves", 2014, date(2014, 4, 12).toordinal())
    )
    assert both == learn(("leaves", 2014, date(2014, 4, 12).toordinal()))


def test_two_springs_narrow_more_than_one_and_their_order_does_not_matter() -> None:
    one = ("leaves", 2014, date(2014, 4, 12).toordinal())
    other = ("leaves", 2013, date(2013, 4, 10).toordinal())
    assert learn(one, other).needs[0][1] < learn(one).needs[0][1] < 0.45**2
    assert learn(one, other) == learn(other, one)


def test_a_spring_without_its_weather_says_nothing() -> None:
    is_prior(learn(("leaves", 2012, date(2012, 4, 12).toordinal())))


def test_a_spring_known_by_the_mean_year_alone_says_much_less() -> None:
    day = date(2014, 4, 12)
    stand_in = replace(year(2014), measured=False)
    needs = taught(TREE, [("leaves", 2014, day.toordinal())], lambda _: stand_in, lambda _: ()).needs
    sigma = math.hypot(SIGMA_LN_HEAT, UNKNOWN_WEATHER_LN_HEAT)
    assert needs[0] == pytest.approx(weighed(4.4, 0.45, math.log(heat_at(day, 2014)), sigma))


def test_a_sight_of_which_little_is_known_takes_nothing_from_those_that_are() -> None:
    """Each observation has its own weight (as in `weighed`): an old date without its weather adds a little."""
    measured = [("leaves", cycle, date(cycle, 4, 12).toordinal()) for cycle in (2012, 2013, 2014)]
    old = ("leaves", 2005, date(2005, 4, 12).toordinal())

    def air(cycle: int) -> Air:
        return replace(year(cycle), measured=cycle != 2005)

    three, four = (taught(TREE, seen, air, lambda _: ()).needs[0] for seen in (measured, [old, *measured]))
    sigma = math.hypot(SIGMA_LN_HEAT, UNKNOWN_WEATHER_LN_HEAT)
    heat = math.log(heat_at(date(2005, 4, 12), 2005))
    assert four == pytest.approx(weighed(three[0], math.sqrt(three[1]), heat, sigma))
    assert four[1] < three[1]


def test_a_day_before_any_heat_says_nothing() -> None:
    is_prior(learn(("leaves", 2014, date(2013, 12, 1).toordinal())))


def test_what_is_not_a_stage_of_the_tree_says_nothing() -> None:
    is_prior(learn(("candles", 2014, date(2014, 4, 12).toordinal())))


def test_heat_is_what_the_tree_felt_where_it_stood() -> None:
    seen = ("leaves", 2014, date(2014, 3, 1).toordinal())
    inside: History = ((0, "frost-free"),)
    expected = weighed(4.4, 0.45, math.log(heat_at(date(2014, 3, 1), 2014, inside)), SIGMA_LN_HEAT)
    assert learn(seen, history=inside).needs[0] == pytest.approx(expected)
    assert learn(seen, history=inside).needs[0] != pytest.approx(learn(seen).needs[0])


def test_an_autumn_by_hand() -> None:
    # 10 - 10 cos(x) falls through 12 at 258.5 degrees from 20 January: 9 October. Seen eleven days later.
    found = learn(("colour", 2014, date(2014, 10, 20).toordinal())).autumn
    assert found is not None
    mean, variance = weighed(0.0, 8.0, 11.0, SIGMA_AUTUMN_DAYS)
    assert found[0] == pytest.approx(mean, abs=0.6)
    assert found[1] == pytest.approx(variance)


@pytest.mark.parametrize("warmer_c", [-3.0, 4.0])
def test_a_tree_that_colours_on_the_day_foretold_for_a_warm_or_cold_autumn_teaches_nothing(
    warmer_c: float,
) -> None:
    profile = profile_of({"colour": {"climate_fall": FALL}})
    axis = axis_for(45.0, (2014,))
    usual = wave(axis.start, axis.n_days)
    air = air_of(axis, usual + warmer_c, climate_c=usual)
    foretold = StageRun(air, profile, 2014, [group_of(profile)]).run().labels["colour"]
    day = axis.day(float(np.median(foretold)))
    found = taught(profile, [("colour", 2014, day.toordinal())], lambda _: air, lambda _: ()).autumn
    assert found is not None
    assert found[0] == pytest.approx(0.0, abs=0.5)  # a day is told to half a day


N, S = False, True


@pytest.mark.parametrize(
    ("species", "stage", "on", "south", "cycle"),
    [
        ("acer-palmatum", "leaf_fall", date(2015, 11, 30), N, 2015),
        ("acer-palmatum", "leaf_fall", date(2016, 1, 10), N, 2015),  # a mild winter
        ("acer-palmatum", "leaf_fall", date(2016, 5, 25), S, 2015),
        ("acer-palmatum", "growth_stop", date(2015, 9, 18), N, 2015),
        ("acer-palmatum", "bud_swell", date(2016, 1, 2), N, 2016),
        ("acer-palmatum", "leaves_hardened", date(2015, 6, 5), N, 2015),
        ("acer-palmatum", "bud_break", date(2015, 9, 10), S, 2015),
        ("rhododendron-indicum", "bud_swell", date(2015, 12, 28), N, 2016),
        ("pinus-thunbergii", "winter_rest", date(2016, 1, 5), N, 2015),
        ("ficus-microcarpa", "active_growth", date(2015, 5, 20), N, 2015),
        ("ficus-microcarpa", "cool_rest", date(2015, 10, 1), N, 2015),
        ("rhododendron-indicum", "leaves_hardened", date(2015, 9, 25), N, 2015),
    ],
)
def test_what_is_seen_belongs_to_its_season(
    species: str, stage: str, on: date, south: bool, cycle: int
) -> None:
    """A cycle is named by its spring; the autumn that ends it may come before or after its mean day."""
    assert sight_cycle(knowledge().profiles[species].stages[stage], on, south=south) == cycle


def test_southern_springs_teach_as_northern_ones_do() -> None:
    axis = axis_for(-45.0, (2014,))
    seen = ("leaves", 2014, date(2014, 10, 12).toordinal())
    found = taught(TREE, (seen,), lambda cycle: year(cycle, -45.0), lambda _air: ())
    air = year(2014, -45.0)
    ends = air.heat(2014, ())[0]
    at = axis.index(date(2014, 10, 12))
    heat = float(np.mean(ends[at - 1 : at + 1]))
    assert found.needs[0] == pytest.approx(weighed(4.4, 0.45, math.log(heat), SIGMA_LN_HEAT))
