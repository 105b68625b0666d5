"""Sums of warmth since a day of the year, as a stage and as an anchor, in air whose answer can be worked out by hand."""

from __future__ import annotations

import math
import tomllib
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from calendar_core.planning.seasons.axis import axis_for
from calendar_core.planning.seasons.stage_run import StageRun
from calendar_core.science.year.degree_days import sine
from calendar_core.science.year.stages import sum_at
from tests.planning.made_up import air_of, group_of, profile_of, wave
from tests.planning.still_air import AXIS, air, at, days_of, found

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from calendar_core.planning.seasons.air import Air

    Floats = NDArray[np.float64]

CYCLE = 2015
SURE = 1e-6  # a spread that moves no day


# The stage


def warmth(sum_: float, start: str = "01-01", base_c: float = 0.0, spread: float = SURE) -> dict[str, Any]:
    return {"warmth": {"start": start, "base_c": base_c, "sum": sum_, "spread": spread}}


def run(air_: Air, stages: Mapping[str, Any], *sights: Mapping[str, Any]) -> Mapping[str, Floats]:
    """Labels of made-up stages, for a group with each of the ``sights`` or one without."""
    profile = profile_of(stages)
    groups = [group_of(profile, **one) for one in sights or ({},)]
    return StageRun(air_, profile, CYCLE, groups).run().labels


def still(latitude: float, mean_c: float) -> Air:
    return air_of(axis_for(latitude, (CYCLE,)), mean_c)


def flowers_on(air_: Air, rule: Mapping[str, Any]) -> set[date]:
    labels = run(air_, {"flowering": rule})["flowering"]
    return {air_.axis.day(label) for label in labels.ravel()}


@pytest.mark.parametrize(
    ("rule", "expected"),
    [
        (warmth(47), date(2015, 1, 10)),  # nine days give 45, ten 50
        (warmth(47, base_c=3), date(2015, 1, 24)),  # two a day: 23 days give 46, 24 give 48
        (warmth(47, start="02-10"), date(2015, 2, 19)),  # nothing before the start counts
        (warmth(47, start="12-01"), date(2014, 12, 10)),  # from November on of the winter before the spring
    ],
)
def test_warmth_is_reached_on_the_day_by_hand(rule: Mapping[str, Any], expected: date) -> None:
    assert flowers_on(still(45.0, 5.0), rule) == {expected}


def test_cold_days_take_nothing_off() -> None:
    # Five degrees for ten days, fifty in all; ten days of frost; then five again: the eleventh warm day is 21 January.
    mean = np.full(AXIS.n_days, 5.0)
    frost = AXIS.index(date(2015, 1, 11))
    mean[frost : frost + 10] = -8.0
    assert flowers_on(air_of(AXIS, mean), warmth(52)) == {date(2015, 1, 21)}


def test_the_south_counts_half_a_year_later() -> None:
    # 1 January and 182 days are 2 July; the tenth day from there is 11 July.
    assert flowers_on(still(-45.0, 5.0), warmth(47)) == {date(2015, 7, 11)}


def test_day_length_and_chill_say_nothing() -> None:
    # Three latitudes, one air: the same day, where a heat need would wait for light.
    days = [flowers_on(still(latitude, 15.0), warmth(47)) for latitude in (20.0, 45.0, 60.0)]
    assert days == [{date(2015, 1, 4)}] * 3


@pytest.mark.parametrize("mean_c", [-3.0, 0.0])
def test_warmth_that_never_comes_is_not_reached(mean_c: float) -> None:
    assert np.isinf(run(still(45.0, mean_c), {"flowering": warmth(1)})["flowering"]).all()


def test_warmth_reached_only_in_the_next_winter_is_not_this_year_s() -> None:
    # One degree a day: 350 days end on 16 December, 360 on 26 December, after the next solstice.
    assert flowers_on(still(45.0, 1.0), warmth(349.5)) == {date(2015, 12, 16)}
    late = run(still(45.0, 1.0), {"flowering": warmth(359.5)})["flowering"]
    assert np.isinf(late).all()
    assert still(45.0, 1.0).axis.n_days > AXIS.index(date(2015, 12, 26))  # the day itself is on the axis


def test_each_trace_has_its_own_day() -> None:
    mean = np.repeat([[5.0], [10.0]], AXIS.n_days, axis=1)
    labels = run(air_of(AXIS, mean), {"flowering": warmth(47)})["flowering"]
    assert [AXIS.day(label) for label in np.median(labels[:, 0], axis=1)] == [
        date(2015, 1, 10),
        date(2015, 1, 5),
    ]


def test_the_spread_is_that_of_the_logarithm_of_the_sum() -> None:
    air_ = air_of(AXIS, np.tile(wave(AXIS.start, AXIS.n_days, mean_c=15.0), (30, 1)))
    labels = run(air_, {"flowering": warmth(400, base_c=0, spread=0.35)})["flowering"].reshape(30, -1)
    before = air_.degree_day_sum(0.0)[:, [AXIS.index(date(2014, 12, 31))]]
    reached = np.log(sum_at(air_.degree_day_sum(0.0), labels) - before)
    assert np.median(reached) == pytest.approx(math.log(400), abs=0.01)
    # Twenty-five draws lose 3 % in the tails.
    assert reached.std() == pytest.approx(0.35, rel=0.06)


# What was seen of it

SWELL = {"before": {"stage": "flowering", "days": 30, "spread_days": 14}}
CAMELLIA = {"swell": SWELL, "flowering": warmth(300, spread=0.35)}
STILL = still(45.0, 5.0)  # 300 degree-days come by 1 March


def pinned(stage: str, day: date) -> dict[str, Any]:
    return {"seen": ((stage, AXIS.index(day)),)}


def test_a_flower_that_was_seen_came_on_its_day_for_this_tree_alone() -> None:
    labels = run(STILL, CAMELLIA, pinned("flowering", date(2015, 2, 14)), {})["flowering"]
    assert {AXIS.day(label) for label in labels[:, 0].ravel()} == {date(2015, 2, 14)}
    np.testing.assert_array_equal(labels[:, 1], run(STILL, CAMELLIA)["flowering"][:, 0])


def test_flowers_follow_buds_that_were_seen_to_swell() -> None:
    labels = run(STILL, CAMELLIA, pinned("swell", date(2015, 1, 20)))["flowering"]
    assert AXIS.day(float(np.median(labels))) == date(2015, 2, 19)  # thirty days on
    assert labels.std() == pytest.approx(14.0, rel=0.06)


def test_flowers_looked_for_in_vain_come_later() -> None:
    usual = run(STILL, CAMELLIA)["flowering"]
    looked = AXIS.index(date(2015, 3, 10))
    labels = run(STILL, CAMELLIA, {"not_yet": (("flowering", looked),)})["flowering"]
    assert (np.ceil(labels) > looked).all()
    later = usual >= looked + 0.5  # it was looked for at midday
    assert 0.1 < later.mean() < 0.9  # else the look would say nothing
    np.testing.assert_array_equal(labels[later], usual[later])


# The anchor


def since(sum_: float, base_c: float = 5.0, start: str = "03-01", **more: Any) -> dict[str, Any]:
    return {"heat_since": {"start": start, "base_c": base_c, "sum": sum_, **more}}


@pytest.mark.parametrize(
    ("anchor", "expected"),
    [
        (since(95), date(2015, 3, 10)),  # ten degrees a day above five
        (since(95, base_c=12), date(2015, 4, 1)),  # three a day: 31 days of March give 93
        (since(95, start="06-20"), date(2015, 6, 29)),  # nothing before the start counts
        ({**since(95), "days": -7}, date(2015, 3, 3)),
    ],
)
def test_heat_since_a_day_by_hand(anchor: dict[str, Any], expected: date) -> None:
    (limit,) = found(at(air(15.0)), **anchor)
    assert days_of(limit) == [expected]
    assert limit.reason.code == "heat_since"
    assert limit.reason.needed == 95


def sine_by_hand(low_c: float, high_c: float, base_c: float) -> float:
    """Degree-days of a day whose extremes lie on both sides of the base.

    Source: Baskerville & Emin 1969, Ecology 50:514, their formula for that case, written out.
    """
    mean, half = (low_c + high_c) / 2, (high_c - low_c) / 2
    theta = math.asin((base_c - mean) / half)
    return ((mean - base_c) * (math.pi / 2 - theta) + half * math.cos(theta)) / math.pi


@pytest.mark.parametrize("base_c", [12.0, 15.0, 17.0, 19.0])
def test_heat_since_by_the_sine_counts_the_hours_above_the_base(base_c: float) -> None:
    # Nights of ten and days of twenty degrees.
    daily = sine_by_hand(10.0, 20.0, base_c)
    assert daily == pytest.approx(float(sine(np.array(10.0), np.array(20.0), base_c)))
    (limit,) = found(at(air(15.0)), **since(20.5 * daily, base_c, method="sine"))
    assert days_of(limit) == [date(2015, 3, 21)]  # inside the 21st day
    (plain,) = found(at(air(15.0)), **since(20.5 * daily, base_c))
    if base_c >= 15.0:
        assert days_of(plain) == [None]  # the mean of the day is not above it
    else:
        assert plain.labels[0, 0, 0] > limit.labels[0, 0, 0]


@pytest.mark.parametrize("method", ["average", "sine"])
def test_heat_since_through_a_year_of_waves(method: str) -> None:
    mean = wave(AXIS.start, AXIS.n_days)
    low, high = mean - 5.0, mean + 5.0
    daily = sine(low, high, 10.0) if method == "sine" else np.maximum(0.0, mean - 10.0)
    total, day = 0.0, AXIS.index(date(2015, 3, 1)) - 1
    while total < 153.0:
        day += 1
        total += float(daily[day])
    (limit,) = found(at(air_of(AXIS, mean)), **since(153, 10.0, method=method))
    assert days_of(limit) == [AXIS.day(day)]


def test_heat_since_by_the_modified_method_holds_the_extremes_first() -> None:
    # 40 to 54 degF count 2 degF a day above 50 (50/86 method, https://archive.bdnblogs.com/2006/04/15/
    # tracking-advance-of-spring-in-maine), though their mean is below it; 40 to 100 count 18 up to 86, 25 without it
    # (Oregon State University, http://ippc2.orst.edu/wea/weafaq.html).
    def day(low_f: float, high_f: float, sum_f: float, **more: Any) -> date | None:
        both = air(0.0)
        both.t_min_c[:], both.t_max_c[:] = (low_f - 32) / 1.8, (high_f - 32) / 1.8
        return days_of(found(at(both), **since(sum_f / 1.8, 10.0, "01-01", method="modified", **more))[0])[0]

    assert day(40, 54, 39, upper_c=30) == date(2015, 1, 20)
    assert day(40, 100, 351, upper_c=30) == date(2015, 1, 20)
    assert day(40, 100, 487) == date(2015, 1, 20)


# Lists of university extensions [degF d above 50]: Delahaut, Wisconsin (modified, 1 January); Rutgers 2021 (daily mean);
# Michigan State 2012 (a sine, as its weather service counts).
PUBLISHED = {
    "spruce spider mites": ("modified", 100, 200),
    "pine sawflies": ("modified", 50, 100),
    "scale": ("modified", 275, 500),
    "pine needle scale": ("modified", 200, 350),
    "elm leaf beetle": ("modified", 400, 500),
    "vine weevils": ("modified", 400, 600),
    "taxus mealybugs": ("modified", 275, 500),
    "southern red mites": ("average", 7, 91),
    "camellia scale": ("average", 7, 91),
    "adelgids": ("sine", 25, 120),
}


@pytest.mark.parametrize("pest", PUBLISHED)
def test_looks_for_pests_open_on_the_day_of_their_published_sum(pest: str) -> None:
    method, first, last = PUBLISHED[pest]
    mean = wave(AXIS.start, AXIS.n_days)
    low, high = mean * 1.8 + 32 - 15, mean * 1.8 + 32 + 15  # a range of 30 degF
    daily = {
        "modified": (np.clip(low, 50, 86) + np.clip(high, 50, 86)) / 2 - 50,
        "average": np.maximum((low + high) / 2 - 50, 0.0),
        "sine": sine(low, high, 50.0),
    }[method]
    begin = AXIS.index(date(2015, 1, 1))
    sums = np.cumsum(daily[begin:])
    one = tomllib.loads((Path(__file__).parents[3] / "config/pests.toml").read_text(encoding="utf-8"))[pest]
    here = air_of(AXIS, mean, half_range_c=15 / 1.8)
    for anchor, degrees in ((one["opens"], first), (one["closes"][0], last)):
        (limit,) = found(at(here), **anchor)
        expected = AXIS.day(begin + int(np.argmax(sums >= degrees)))
        came = days_of(limit)[0]
        assert came is not None
        assert abs((came - expected).days) <= 1  # config has whole degC


@pytest.mark.parametrize("method", ["average", "sine"])
def test_heat_since_does_not_come_in_a_cold_year(method: str) -> None:
    both = air(15.0, traces=2)
    both.t_min_c[1] = both.t_max_c[1] = 4.0
    (limit,) = found(at(both), **since(95, method=method))
    assert days_of(limit) == [date(2015, 3, 10), None]


def test_heat_since_reached_after_the_winter_s_end_is_not_this_year_s() -> None:
    # One degree-day a day from 1 March: 366 end on 29 February 2016, when the cycle's winter does.
    assert days_of(found(at(air(6.0)), **since(365.5))[0]) == [date(2016, 2, 29)]
    assert days_of(found(at(air(6.0)), **since(366.5))[0]) == [None]


def test_heat_since_in_the_south_counts_half_a_year_later() -> None:
    # 1 March and 182 days are 30 August; the tenth day from there is 8 September.
    south = still(-45.0, 15.0)
    (limit,) = found(at(south), **since(95))
    assert south.axis.day(float(limit.labels[0, 0, 0])) == date(2015, 9, 8)
