"""Each kind of anchor in air whose answer can be worked out by hand."""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from calendar_core.planning.anchors import Cycle, frost_or_growth_stop, limits
from calendar_core.planning.axis import axis_for
from calendar_core.planning.windows import window
from tests.planning.made_up import air_of, bundled_work, profile_of, wave, work_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from calendar_core.planning.air import Air
    from calendar_core.planning.anchors import Limit

    Floats = NDArray[np.float64]

CYCLE = 2015
PROFILE = profile_of({"growth_stop": {"day_length": {"below_h": 12.5}}})
AXIS = axis_for(45.0, (CYCLE,))
USUAL = wave(AXIS.start, AXIS.n_days)


def air(mean_c: float = 15.0, traces: int = 1) -> Air:
    """Air of one temperature, nights five degrees below, in a climate with a summer and a winter."""
    return air_of(AXIS, np.full((traces, AXIS.n_days), mean_c), climate_c=USUAL)


def stage_on(*days: date) -> Floats:
    """A stage that comes on one day in each trace."""
    return np.array([float(AXIS.index(day)) for day in days])[:, None, None]


def at(air_: Air, **stages: Floats) -> Cycle:
    return Cycle(air_, PROFILE, CYCLE, stages)


def found(cycle: Cycle, **anchor: Any) -> list[Limit]:
    work = work_of(opens=anchor)
    return limits(work.opens, work, cycle)


def days_of(limit: Limit) -> list[date | None]:
    return [AXIS.day(label) if math.isfinite(label) else None for label in limit.labels[:, 0, 0]]


# Stages, light and the calendar


def test_a_stage_and_days_from_it() -> None:
    cycle = at(air(), leaves=stage_on(date(2015, 4, 20)))
    (limit,) = found(cycle, stage="leaves")
    assert days_of(limit) == [date(2015, 4, 20)]
    (later,) = found(cycle, stage="leaves", days=14)
    assert days_of(later) == [date(2015, 5, 4)]
    assert later.reason.days == 14
    assert later.reason.subject == "leaves"
    np.testing.assert_array_equal(later.fact, limit.labels)  # the reason tells the fact, not the shifted day


def test_heat_after_a_stage_by_hand() -> None:
    # Fifteen degrees are ten above a base of five: 100 degree-days take ten days.
    cycle = at(air(15.0), leaves=stage_on(date(2015, 4, 20)))
    (limit,) = found(cycle, stage="leaves", heat={"base_c": 5, "sum": 100})
    assert days_of(limit) == [date(2015, 4, 30)]


def test_heat_after_a_stage_that_does_not_come_does_not_come() -> None:
    (limit,) = found(at(air(), leaves=np.full((1, 1, 1), np.inf)), stage="leaves", heat={"base_c": 5, "sum": 100})
    assert days_of(limit) == [None]


def test_heat_after_a_stage_where_it_never_gets_warm() -> None:
    (limit,) = found(at(air(3.0), leaves=stage_on(date(2015, 4, 20))), stage="leaves", heat={"base_c": 5, "sum": 1})
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


# Frost


def with_frost(*days: date, mean_c: float = 25.0) -> Air:
    """Warm air with one frost in each trace."""
    out = air(mean_c, len(days))
    for trace, day in enumerate(days):
        if AXIS.index(day) < AXIS.n_days:
            out.t_min_c[trace, AXIS.index(day)] = -1.0
    return out


NEVER = date(2030, 1, 1)
FROSTS = (date(2015, 10, 20), date(2015, 11, 25))


def test_days_before_the_first_frost_of_each_trace() -> None:
    (limit,) = found(at(with_frost(*FROSTS)), before_first_frost={"days": 100})
    assert days_of(limit) == [day - timedelta(days=100) for day in FROSTS]
    assert limit.reason.code == "before_frost"
    assert limit.reason.days == -100
    assert limit.fact[:, 0, 0].tolist() == [AXIS.index(day) for day in FROSTS]


def test_growth_stop_stands_in_for_a_frost_that_does_not_come() -> None:
    stop = date(2015, 9, 20)
    cycle = at(with_frost(FROSTS[0], NEVER), growth_stop=stage_on(stop, stop))
    (limit,) = found(cycle, before_first_frost={"days": 100})
    assert days_of(limit) == [FROSTS[0] - timedelta(days=100), stop - timedelta(days=100)]
    assert frost_or_growth_stop(cycle)[1] == 0.5


@pytest.mark.parametrize(
    ("frosts", "code"),
    [
        ((FROSTS[0], FROSTS[0], NEVER), "before_frost"),
        ((FROSTS[0], NEVER, NEVER), "growth_stop_for_frost"),
        ((NEVER, NEVER, NEVER), "growth_stop_for_frost"),
    ],
)
def test_the_reason_names_growth_stop_where_most_traces_have_no_frost(
    frosts: Sequence[date], code: str
) -> None:
    cycle = at(with_frost(*frosts), growth_stop=stage_on(*[date(2015, 9, 20)] * 3))
    (limit,) = found(cycle, before_first_frost={"days": 100})
    assert limit.reason.code == code


@pytest.mark.xfail(reason="where frost is too rare, all trees count from the growth stop of the first one")
def test_growth_stop_of_one_tree_is_not_that_of_another() -> None:
    stops = np.array([AXIS.index(date(2015, 8, 1)), AXIS.index(date(2015, 9, 20))], float)[None, :, None]
    (limit,) = found(at(with_frost(NEVER), growth_stop=stops), before_first_frost={"days": 100})
    np.testing.assert_array_equal(np.broadcast_to(limit.labels, stops.shape), stops - 100)


def test_without_frost_and_growth_stop_there_is_no_such_day() -> None:
    (limit,) = found(at(with_frost(NEVER), growth_stop=np.full((1, 1, 1), np.inf)), before_first_frost={"days": 100})
    assert days_of(limit) == [None]


COOL = {"per_c": 5, "at_c": 22, "most_days": 30, "over_days": 60}


@pytest.mark.parametrize(
    ("summer_c", "shift"), [(25.0, 0), (22.0, 0), (21.0, 5), (20.0, 10), (17.0, 25), (16.0, 30), (10.0, 30)]
)
def test_a_cool_summer_opens_earlier_by_hand(summer_c: float, shift: int) -> None:
    # clip(5 x (22 - m), 0, 30) days.
    frost = FROSTS[0]
    (limit,) = found(at(with_frost(frost, mean_c=summer_c)), before_first_frost={"days": 130, "cool_summer": COOL})
    assert days_of(limit) == [frost - timedelta(days=130 + shift)]
    assert limit.reason.subject == "cool summer"


def test_the_summer_is_judged_by_the_sixty_days_after_the_unshifted_opening() -> None:
    frost = FROSTS[0]
    cycle = at(with_frost(frost, frost))
    opening = AXIS.index(frost) - 130
    for low in (cycle.air.t_min_c, cycle.air.t_max_c):
        low[0, opening : opening + 60] -= 5.0  # 20 degC within the sixty days
        low[1, opening - 60 : opening] -= 10.0  # and cold days before them, which do not count
        low[1, opening + 60 : opening + 100] -= 10.0  # nor those after
    (limit,) = found(cycle, before_first_frost={"days": 130, "cool_summer": COOL})
    assert days_of(limit) == [frost - timedelta(days=140), frost - timedelta(days=130)]


def test_opening_and_closing_of_decandling_move_together() -> None:
    work, frost = bundled_work("pinus-thunbergii", "decandling"), FROSTS[0]
    cycle = at(with_frost(frost, mean_c=20.0), needles_emerging=stage_on(date(2015, 5, 20)))
    found_ = window(work, cycle)
    assert days_of(found_.opens) == [frost - timedelta(days=140)]
    assert AXIS.day(float(found_.closes[0, 0, 0])) == frost - timedelta(days=110)


def test_a_window_does_not_open_before_the_stage_it_must_come_after() -> None:
    work = bundled_work("pinus-thunbergii", "decandling")
    needles = date(2015, 7, 1)
    cycle = at(with_frost(FROSTS[0], mean_c=20.0), needles_emerging=stage_on(needles))
    assert days_of(window(work, cycle).opens) == [needles]


# The last safe day

SAFE = {"weeks_before_first_frost": 10, "heat_left": {"base_c": 5, "sum": 600}, "releaf_weeks": 4}
LIMITS = {
    # Ten weeks before frost; 600 degree-days at ten a day before the colour; four weeks before growth stop.
    "safe_frost": lambda frost, _colour, _stop: frost - timedelta(weeks=10),
    "safe_heat": lambda _frost, colour, _stop: colour - timedelta(days=60),
    "safe_growth_stop": lambda _frost, _colour, stop: stop - timedelta(weeks=4),
}


@pytest.mark.parametrize(
    ("binding", "frost", "colour", "stop"),
    [
        ("safe_frost", date(2015, 9, 20), date(2015, 10, 30), date(2015, 9, 18)),
        ("safe_heat", date(2015, 11, 20), date(2015, 9, 25), date(2015, 9, 18)),
        ("safe_growth_stop", date(2015, 11, 20), date(2015, 11, 10), date(2015, 9, 18)),
        ("safe_heat", NEVER, date(2015, 9, 25), date(2015, 9, 18)),  # without frost that limit is gone
    ],
)
def test_the_last_safe_day_is_the_earliest_limit(binding: str, frost: date, colour: date, stop: date) -> None:
    cycle = at(with_frost(frost, mean_c=15.0), colour=stage_on(colour), growth_stop=stage_on(stop))
    found_ = window(work_of(opens={"stage": "colour"}, closes=[{"last_safe_day": SAFE}]), cycle)
    assert [limit.reason.code for limit in found_.closing] == list(LIMITS)
    for limit in found_.closing:
        expected = LIMITS[limit.reason.code](frost, colour, stop)
        assert days_of(limit) == [None if expected > date(2029, 1, 1) else expected]
    earliest = min(found_.closing, key=lambda limit: float(limit.labels[0, 0, 0]))
    assert earliest.reason.code == binding
    assert found_.closes[0, 0, 0] == earliest.labels[0, 0, 0]


def test_heat_that_no_longer_comes_leaves_no_safe_day() -> None:
    safe = {"last_safe_day": {"heat_left": {"base_c": 5, "sum": 5000}}}
    (limit,) = found(at(air(10.0), colour=stage_on(date(2015, 9, 25))), **safe)
    assert AXIS.day(float(limit.labels[0, 0, 0])) <= AXIS.start


def test_where_no_leaves_colour_the_heat_must_come_before_the_end_of_winter() -> None:
    (limit,) = found(at(air(15.0)), last_safe_day={"heat_left": {"base_c": 5, "sum": 600}})
    # The axis of the cycle ends on the last of February.
    assert days_of(limit) == [date(2016, 2, 29) - timedelta(days=60)]


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
    cold = [(day, 1, -5.0) for day in (date(2015, 3, 1), date(2015, 4, 9), date(2015, 11, 3), date(2015, 12, 9))]
    hot = [(day, 1, 32.0) for day in (date(2015, 6, 10), date(2015, 7, 30), date(2015, 9, 2))]
    line = {"measure": measure, "passes": passes, "which": which, "at_c": -4 if measure == "night" else 30}
    (limit,) = found(at(spelled(measure, *(cold if measure == "night" else hot))), air=line)
    assert days_of(limit) == [expected]
    assert limit.reason.code == f"air_{measure}_{which}_{passes}"


@pytest.mark.xfail(reason="the last hot day is looked for from the warmest days on, the first from the coldest")
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
    found_ = window(work, at(with_frost(FROSTS[0]), **stages))
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
