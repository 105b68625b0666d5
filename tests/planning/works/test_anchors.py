"""Anchors of stages, light, calendar, nights and days, in air whose answer can be worked out by hand."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest

from calendar_core.planning.works.windows import window
from tests.planning.made_up import bundled_work
from tests.planning.still_air import AXIS, air, at, days_of, found, stage_on, with_frost

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from calendar_core.planning.seasons.air import Air

    Floats = NDArray[np.float64]


# Stages, light and the calendar


def test_a_stage_and_days_from_it() -> None:
    cycle = at(air(), leaves=stage_on(date(2015, 4, 20)))
    (limit,) = found(cycle, stage="leaves")
    assert days_of(limit) == [date(2015, 4, 20)]
    (later,) = found(cycle, stage="leaves", days=14)
    assert days_of(later) == [date(2015, 5, 4)]
    assert later.reason.days == 14
    assert later.reason.subject == "leaves"
    np.testing.assert_array_equal(
        later.fact.labels, limit.labels
    )  # the reason tells the fact, not the shifted day


def test_heat_after_a_stage_by_hand() -> None:
    # Fifteen degrees are ten above a base of five: 100 degree-days take ten days.
    cycle = at(air(15.0), leaves=stage_on(date(2015, 4, 20)))
    (limit,) = found(cycle, stage="leaves", heat={"base_c": 5, "sum": 100})
    assert days_of(limit) == [date(2015, 4, 30)]


def test_heat_after_a_stage_that_does_not_come_does_not_come() -> None:
    (limit,) = found(
        at(air(), leaves=np.full((1, 1, 1), np.inf)), stage="leaves", heat={"base_c": 5, "sum": 100}
    )
    assert days_of(limit) == [None]


def test_heat_after_a_stage_where_it_never_gets_warm() -> None:
    (limit,) = found(
        at(air(3.0), leaves=stage_on(date(2015, 4, 20))), stage="leaves", heat={"base_c": 5, "sum": 1}
    )
    assert days_of(limit) == [None]


def test_day_length_falls_after_midsummer() -> None:
    (limit,) = found(at(air()), day_length_below_h=14)
    label = int(limit.labels[0, 0, 0])
    assert AXIS.day_length_h[label] <= 14 < AXIS.day_length_h[label - 1]
    assert date(2015, 7, 22) < AXIS.day(label) < date(2015, 9, 22)


def test_a_calendar_day() -> None:
    (limit,) = found(at(air()), calendar="05-10")
    assert days_of(limit) == [date(2015, 5, 10)]
    assert limit.reason.code == "calendar"


# Nights and days


def spelled(measure: str, *spells: tuple[date, int, float], mean_c: float = 10.0) -> Air:
    """Air of one temperature but for spells: (first day, days, temperature of the nights or days)."""
    out = air(mean_c)
    values = out.t_min_c if measure == "night" else out.t_max_c
    for first, days, temperature in spells:
        values[0, AXIS.index(first) : AXIS.index(first) + days] = temperature
    return out


@pytest.mark.parametrize(
    ("measure", "passes", "which", "expected"),
    [
        ("night", "below", "first", date(2015, 11, 3)),
        ("night", "below", "last", date(2015, 4, 9)),
        ("day", "above", "first", date(2015, 6, 10)),
        ("day", "above", "last", date(2015, 9, 2)),
    ],
)
def test_first_and_last_days_beyond_a_line(measure: str, passes: str, which: str, expected: date) -> None:
    cold = [
        (day, 1, -5.0) for day in (date(2015, 3, 1), date(2015, 4, 9), date(2015, 11, 3), date(2015, 12, 9))
    ]
    hot = [(day, 1, 32.0) for day in (date(2015, 6, 10), date(2015, 7, 30), date(2015, 9, 2))]
    line = {"measure": measure, "passes": passes, "which": which, "at_c": -4 if measure == "night" else 30}
    (limit,) = found(at(spelled(measure, *(cold if measure == "night" else hot))), air=line)
    assert days_of(limit) == [expected]
    assert limit.reason.code == f"air_{measure}_{which}_{passes}"


def test_the_last_hot_day_may_come_before_the_warmest() -> None:
    line = {"measure": "day", "passes": "above", "at_c": 30}
    cycle = at(spelled("day", (date(2015, 6, 10), 1, 32.0)))
    first, last = (found(cycle, air={**line, "which": which})[0] for which in ("first", "last"))
    assert days_of(first) == days_of(last) == [date(2015, 6, 10)]


def test_days_exactly_at_the_line_are_not_beyond_it() -> None:
    line = {"measure": "night", "passes": "below", "which": "first", "at_c": 5}
    assert days_of(found(at(air(10.0)), air=line)[0]) == [None]


def test_a_run_counts_from_its_last_day() -> None:
    line = {"measure": "night", "passes": "below", "which": "first", "at_c": -4, "run_days": 3}
    cycle = at(spelled("night", (date(2015, 11, 3), 2, -5.0), (date(2015, 11, 20), 4, -5.0)))
    assert days_of(found(cycle, air=line)[0]) == [date(2015, 11, 22)]


def test_nights_that_are_never_so_cold_are_no_moment() -> None:
    for which in ("first", "last"):
        line = {"measure": "night", "passes": "below", "which": which, "at_c": -4}
        assert days_of(found(at(air()), air=line)[0]) == [None]


def test_every_limit_carries_what_it_rests_on() -> None:
    work = bundled_work("acer-palmatum", "partial defoliation")
    stages: Mapping[str, Floats] = {
        name: stage_on(date(2015, 9, 18)) for name in ("leaves_hardened", "growth_stop", "colour")
    }
    found_ = window(work, at(with_frost(date(2015, 10, 20)), **stages))
    for limit in (found_.opens, *found_.closing):
        assert (limit.reason.basis, limit.reason.source) == (work.basis, work.source)
        assert limit.reason.note == work.note


@pytest.mark.parametrize(("passes", "expected"), [("above", date(2015, 6, 14)), ("below", date(2015, 8, 27))])
def test_the_mean_year_passes_a_line_on_one_day_for_all_traces(passes: str, expected: date) -> None:
    # 10 - 10 cos(x) = 18 at x = 143 and 217 degrees, 145 and 220 days after 20 January.
    (limit,) = found(at(air(traces=3)), mean_year={"passes": passes, "at_c": 18})
    assert limit.labels.shape == (1, 1, 1)
    assert abs((AXIS.day(float(limit.labels[0, 0, 0])) - expected).days) <= 2
    (never,) = found(at(air()), mean_year={"passes": passes, "at_c": 25})
    assert days_of(never) == [None]
