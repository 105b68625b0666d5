"""Stage dates by each kind of rule, in air whose answer can be worked out by hand."""

from __future__ import annotations

import math
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from calendar_core.planning.seasons.axis import axis_for
from calendar_core.planning.seasons.stage_run import StageRun
from calendar_core.science.year.learning import SIGMA_AUTUMN_DAYS, SIGMA_LN_HEAT
from calendar_core.science.year.stages import sum_at
from tests.planning.made_up import air_of, group_of, profile_of, wave, wave_air

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from calendar_core.planning.seasons.air import Air

    Floats = NDArray[np.float64]

CYCLE = 2015
LEAVES = {"need": {"ln_heat": 4.5, "spread": 0.3}}


def run(air: Air, stages: Mapping[str, Any], habit: str = "deciduous") -> Mapping[str, Floats]:
    """Labels of made-up stages for one tree of which nothing is known."""
    profile = profile_of(stages, habit=habit)
    return StageRun(air, profile, CYCLE, [group_of(profile)]).run().labels


def day(air: Air, label: float) -> date:
    return air.axis.day(label)


# Heat needs


def thirty_traces() -> Air:
    """Thirty times the same year, so that every error of a stage meets every other."""
    axis = axis_for(45.0, (CYCLE,))
    return air_of(axis, np.tile(wave(axis.start, axis.n_days), (30, 1)))


@pytest.mark.parametrize("spread", [0.3, 0.001])
def test_a_need_is_reached_where_the_heat_says(spread: float) -> None:
    air = thirty_traces()
    labels = run(air, {"leaves": {"need": {"ln_heat": 4.5, "spread": spread}}})["leaves"]
    heat = np.log(sum_at(air.heat(CYCLE, ()), labels.reshape(30, -1)))
    assert np.median(heat) == pytest.approx(4.5, abs=0.02)
    # The prior's spread and one spring's error, 0.19 (Harvard Forest), do not depend on each other: the squares
    # add up. 25 draws lose 3 % in the tails.
    assert heat.std() == pytest.approx(math.hypot(spread, SIGMA_LN_HEAT), rel=0.06)


def test_a_need_that_no_summer_fills_is_not_reached() -> None:
    air = wave_air(mean_c=-3.0, swing_c=8.0)
    assert not np.isfinite(run(air, {"leaves": {"need": {"ln_heat": 6.5, "spread": 0.1}}})["leaves"]).any()


def test_warmer_traces_come_earlier() -> None:
    axis = axis_for(45.0, (CYCLE,))
    mean = wave(axis.start, axis.n_days)
    air = air_of(axis, np.stack([mean, mean + 2.0]))
    cool, warm = np.median(run(air, {"leaves": LEAVES})["leaves"][:, 0, :], axis=1)
    assert warm < cool


# Stages that hang on another


def test_before_lies_so_many_days_before_and_never_after() -> None:
    stages = {"swell": {"before": {"stage": "leaves", "days": 10, "spread_days": 4}}, "leaves": LEAVES}
    found = run(wave_air(), stages)
    gap = found["leaves"] - found["swell"]
    assert np.median(gap) == pytest.approx(10.0)
    assert gap.std() == pytest.approx(4.0, rel=0.06)
    assert gap.min() >= 0.0


def test_after_lies_so_many_days_after_and_never_before() -> None:
    stages = {"leaves": LEAVES, "hard": {"after": {"stage": "leaves", "days": 6, "spread_days": 8}}}
    found = run(wave_air(), stages)
    gap = found["hard"] - found["leaves"]
    assert np.median(gap) == pytest.approx(6.0)
    assert gap.min() == 0.0


def test_after_with_heat_is_the_mean_of_both_by_hand() -> None:
    air = wave_air()
    rule = {"stage": "leaves", "days": 40, "spread_days": 0, "heat": 200}
    found = run(air, {"leaves": LEAVES, "full": {"after": rule}})
    heat = air.heat(CYCLE, ())[0]
    for start, end in zip(found["leaves"].ravel(), found["full"].ravel(), strict=True):
        reached = float(np.interp(start, np.arange(-1, heat.size), [0.0, *heat])) + 200
        by_heat = int((heat >= reached).argmax())  # the first day at whose end the heat is there
        assert end == pytest.approx((start + 40 + by_heat) / 2, abs=0.5)


def test_after_with_heat_goes_by_days_where_summer_ends_too_soon() -> None:
    rule = {"stage": "leaves", "days": 40, "spread_days": 0, "heat": 2000}
    found = run(
        wave_air(mean_c=2.0), {"leaves": {"need": {"ln_heat": 4.0, "spread": 0.1}}, "full": {"after": rule}}
    )
    np.testing.assert_allclose(found["full"] - found["leaves"], 40.0)


def test_what_hangs_on_a_stage_that_does_not_come_does_not_come() -> None:
    never = {"need": {"ln_heat": 8.0, "spread": 0.01}}
    stages = {
        "swell": {"before": {"stage": "leaves", "days": 10, "spread_days": 4}},
        "leaves": never,
        "full": {"after": {"stage": "leaves", "days": 32, "spread_days": 6, "heat": 295}},
    }
    assert not any(np.isfinite(labels).any() for labels in run(wave_air(mean_c=0.0), stages).values())


# Autumn


def test_the_site_s_own_autumn_by_hand() -> None:
    # 10 - 10 cos(x) = 12 falling at x = 258.5 degrees from the trough on 20 January: day 262 after it, 9 October.
    rule = {"mean_c": 12, "window_days": 1, "spread_days": 8}
    air = wave_air()
    labels = run(air, {"colour": {"climate_fall": rule}})["colour"]
    assert abs((day(air, float(np.median(labels))) - date(2015, 10, 9)).days) <= 1
    # Between sites 8 days, within a site 7.2 (PhenoCam): together 10.8.
    assert labels.std() == pytest.approx(math.hypot(8, SIGMA_AUTUMN_DAYS), rel=0.06)


def test_slope_and_offset_count_from_the_equinox() -> None:
    # From 22 September to 9 October 17 days; half of them and 30 more: 22 September + 38.5 = 30 or 31 October.
    rule = {"mean_c": 12, "window_days": 1, "spread_days": 8, "slope": 0.5, "offset_days": 30}
    air = wave_air()
    likely = float(np.median(run(air, {"colour": {"climate_fall": rule}})["colour"]))
    assert abs((day(air, likely) - date(2015, 10, 31)).days) <= 1


@pytest.mark.parametrize(
    ("first", "last", "shift"),
    [(date(2015, 9, 5), date(2015, 10, 10), 2 * 0.8), (date(2015, 4, 1), date(2015, 6, 30), 2 * -0.75)],
)
def test_warm_months_shift_autumn_by_days_per_degree(first: date, last: date, shift: float) -> None:
    rule = {
        "mean_c": 12,
        "window_days": 1,
        "spread_days": 8,
        "autumn_days_per_c": 0.8,
        "spring_days_per_c": -0.75,
    }
    axis = axis_for(45.0, (CYCLE,))
    usual = wave(axis.start, axis.n_days)
    warm = usual.copy()
    warm[axis.index(first) : axis.index(last) + 1] += 2.0
    air = air_of(axis, np.stack([usual, warm]), climate_c=usual)
    labels = run(air, {"colour": {"climate_fall": rule}})["colour"]
    assert np.median(labels[1]) - np.median(labels[0]) == pytest.approx(shift, abs=0.05)


def test_a_climate_never_so_cool_has_no_such_autumn() -> None:
    rule = {"mean_c": 12, "window_days": 31, "spread_days": 8}
    labels = run(wave_air(mean_c=30.0), {"colour": {"climate_fall": rule}})["colour"]
    assert not np.isfinite(labels).any()


def test_a_summer_never_so_warm_begins_its_autumn_with_the_warmest_days() -> None:
    # The crest of the wave is half a year after 20 January.
    air = wave_air(mean_c=0.0)
    rule = {"mean_c": 12, "window_days": 31, "spread_days": 8}
    likely = float(np.median(run(air, {"colour": {"climate_fall": rule}})["colour"]))
    assert abs((day(air, likely) - date(2015, 7, 21)).days) <= 3


# Day length and nights


@pytest.mark.parametrize("latitude", [47.5, -47.5])
def test_growth_stops_on_the_first_day_at_or_under_its_length(latitude: float) -> None:
    air = wave_air(latitude)
    rule = {"below_h": 12.5, "spread_days": 0.001}
    stop = round(float(np.median(run(air, {"growth_stop": {"day_length": rule}})["growth_stop"])))
    light = air.axis.day_length_h
    assert light[stop] <= 12.5 < light[stop - 1]
    # Twelve hours and a half lie a little before the equinox, when day and night are near to equal.
    assert 3 <= air.axis.autumn_equinox(CYCLE) - stop <= 14


def test_on_the_equator_no_day_is_short() -> None:
    labels = run(wave_air(0.0), {"growth_stop": {"day_length": {"below_h": 12.0, "spread_days": 0.001}}})[
        "growth_stop"
    ]
    assert not np.isfinite(labels).any()


def stepped(*changes: tuple[date, float], start_c: float = 10.0) -> Air:
    """Air whose nights have one temperature until the next change."""
    axis = axis_for(45.0, (CYCLE,))
    nights = np.full(axis.n_days, start_c)
    for on, temperature in changes:
        nights[axis.index(on) :] = temperature
    return air_of(axis, nights + 5.0, climate_c=wave(axis.start, axis.n_days))


ACTIVE = {"nights": {"passes": "above", "at_c": 15, "run_days": 7}}
REST = {"nights": {"passes": "below", "at_c": 12, "run_days": 7}}


def test_nights_rise_when_their_mean_has_passed_the_line() -> None:
    # From 10 to 20 degC: after four of seven nights the mean is 15.7, after three 14.3.
    air = stepped((date(2015, 5, 1), 20.0))
    assert day(air, float(run(air, {"active": ACTIVE}, "tropical")["active"].max())) == date(2015, 5, 4)


def test_nights_fall_after_they_have_risen() -> None:
    # From 20 to 8 degC: after five of seven nights the mean is 11.4, after four 13.1.
    air = stepped((date(2015, 5, 1), 20.0), (date(2015, 10, 1), 8.0))
    assert day(air, float(run(air, {"rest": REST}, "tropical")["rest"].max())) == date(2015, 10, 5)


def test_nights_that_never_rose_do_not_fall() -> None:
    assert not np.isfinite(run(stepped(start_c=8.0), {"rest": REST}, "tropical")["rest"]).any()


def test_a_cool_spell_before_the_warmest_days_is_no_rest() -> None:
    air = stepped((date(2015, 5, 1), 20.0), (date(2015, 6, 1), 8.0), (date(2015, 6, 20), 20.0))
    assert not np.isfinite(run(air, {"rest": REST}, "tropical")["rest"]).any()


def test_where_nights_are_always_warm_growth_begins_with_the_cycle_and_never_rests() -> None:
    air = stepped(start_c=22.0)
    found = run(air, {"active": ACTIVE, "rest": REST}, "tropical")
    assert (found["active"] == air.axis.midwinter(CYCLE)).all()
    assert not np.isfinite(found["rest"]).any()


# No winter, no spring


def share_without_spring(latitude: float, mean_c: Floats | float, habit: str = "deciduous") -> float:
    profile = profile_of({"leaves": {"need": {"ln_heat": 3.0, "spread": 0.1}}}, habit=habit)
    axis = axis_for(latitude, (CYCLE,))
    found = StageRun(air_of(axis, mean_c), profile, CYCLE, [group_of(profile)]).run()
    assert np.isfinite(found.labels["leaves"]).mean() == pytest.approx(1.0 - found.no_winter[0])
    return float(found.no_winter[0])


@pytest.mark.parametrize(
    ("latitude", "mean_c", "share"),
    [
        (45.0, 8.0, 0.0),  # a third of a chill day each day: more than 15 by spring
        (45.0, 20.0, 1.0),  # no chill at all
        (0.0, 8.0, 1.0),  # chill enough, but no day is longer than another
        (8.0, 8.0, 1.0),  # day length varies by less than an hour
        (12.0, 8.0, 0.0),  # by more
    ],
)
def test_a_temperate_tree_has_no_spring_without_a_winter(
    latitude: float, mean_c: float, share: float
) -> None:
    assert share_without_spring(latitude, mean_c) == share


@pytest.mark.parametrize(("warm", "share"), [(0, 0.0), (1, 0.0), (2, 1.0), (3, 1.0)])
def test_a_place_has_winters_where_most_of_its_years_have_one(warm: int, share: float) -> None:
    """A warm winter now and then still has its spring."""
    years = np.array([20.0] * warm + [8.0] * (3 - warm))
    axis = axis_for(45.0, (CYCLE,))
    assert share_without_spring(45.0, np.repeat(years[:, None], axis.n_days, axis=1)) == share


def test_trees_stop_growing_some_days_apart() -> None:
    rule = {"below_h": 12.5, "spread_days": 7}
    labels = run(thirty_traces(), {"growth_stop": {"day_length": rule}})["growth_stop"]
    sure = run(thirty_traces(), {"growth_stop": {"day_length": {**rule, "spread_days": 0.001}}})[
        "growth_stop"
    ]
    assert labels.std() == pytest.approx(7, rel=0.06)
    assert np.median(labels) == pytest.approx(np.median(sure), abs=0.1)


def test_a_tropical_tree_needs_no_winter() -> None:
    assert share_without_spring(0.0, 25.0, "tropical") == 0.0


def test_a_heated_room_takes_the_winter_away() -> None:
    profile = profile_of({"leaves": {"need": {"ln_heat": 3.0, "spread": 0.1}}})
    air = wave_air()
    outside, inside = (group_of(profile, history=history) for history in ((), ((0, "heated"),)))
    assert StageRun(air, profile, CYCLE, [outside]).run().no_winter[0] == 0.0
    assert StageRun(air, profile, CYCLE, [inside]).run().no_winter[0] == 1.0
