"""Anchors that count back from frost or growth stop, and the last safe day, worked out by hand."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from calendar_core.planning.works.anchors import frost_or_growth_stop
from calendar_core.planning.works.windows import window
from tests.planning.made_up import bundled_work, work_of
from tests.planning.still_air import AXIS, air, at, days_of, found, stage_on, with_frost

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


NEVER = date(2030, 1, 1)
FROSTS = (date(2015, 10, 20), date(2015, 11, 25))


def test_days_before_the_first_frost_of_each_trace() -> None:
    (limit,) = found(at(with_frost(*FROSTS)), before_first_frost={"days": 100})
    assert days_of(limit) == [day - timedelta(days=100) for day in FROSTS]
    assert limit.reason.code == "before_frost"
    assert limit.reason.days == -100
    assert limit.fact.labels[:, 0, 0].tolist() == [AXIS.index(day) for day in FROSTS]


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


def test_growth_stop_of_one_tree_is_not_that_of_another() -> None:
    stops = np.array([AXIS.index(date(2015, 8, 1)), AXIS.index(date(2015, 9, 20))], float)[None, :, None]
    (limit,) = found(at(with_frost(NEVER), growth_stop=stops), before_first_frost={"days": 100})
    np.testing.assert_array_equal(np.broadcast_to(limit.labels, stops.shape), stops - 100)


def test_without_frost_and_growth_stop_there_is_no_such_day() -> None:
    (limit,) = found(
        at(with_frost(NEVER), growth_stop=np.full((1, 1, 1), np.inf)), before_first_frost={"days": 100}
    )
    assert days_of(limit) == [None]


COOL = {"per_c": 5, "at_c": 22, "most_days": 30, "over_days": 60}


@pytest.mark.parametrize(
    ("summer_c", "shift"), [(25.0, 0), (22.0, 0), (21.0, 5), (20.0, 10), (17.0, 25), (16.0, 30), (10.0, 30)]
)
def test_a_cool_summer_opens_earlier_by_hand(summer_c: float, shift: int) -> None:
    # clip(5 x (22 - m), 0, 30) days.
    frost = FROSTS[0]
    (limit,) = found(
        at(with_frost(frost, mean_c=summer_c)), before_first_frost={"days": 130, "cool_summer": COOL}
    )
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
    late = stage_on(date(2015, 12, 1))  # growth stop that caps nothing
    cycle = at(
        with_frost(frost, mean_c=20.0),
        needles_emerging=stage_on(date(2015, 5, 20)),
        growth_stop=late,
        candles_firm=late,
    )
    found_ = window(work, cycle)
    assert days_of(found_.opens) == [frost - timedelta(days=140)]
    assert AXIS.day(float(found_.closes[0, 0, 0])) == frost - timedelta(days=110)


def test_a_window_does_not_open_before_the_stage_it_must_come_after() -> None:
    work = bundled_work("pinus-thunbergii", "decandling")
    needles, late = date(2015, 7, 1), stage_on(date(2015, 12, 1))
    cycle = at(
        with_frost(FROSTS[0], mean_c=20.0),
        needles_emerging=stage_on(needles),
        growth_stop=late,
        candles_firm=late,
    )
    assert days_of(window(work, cycle).opens) == [needles]


def test_decandling_ends_as_the_candles_are_firm() -> None:
    # "Decandle while the candle is green: a firm one may give no second flush" (kusamurabonsai.org, decandling).
    work, frost, late = bundled_work("pinus-thunbergii", "decandling"), FROSTS[0], stage_on(date(2015, 12, 1))
    opens, closes = frost - timedelta(days=140), frost - timedelta(days=110)

    def closing(firm: Any) -> list[date]:
        cycle = at(
            with_frost(frost, mean_c=20.0), needles_emerging=stage_on(date(2015, 5, 1)), growth_stop=late, candles_firm=firm
        )  # fmt: skip
        return [AXIS.day(label) for label in np.broadcast_to(window(work, cycle).closes, (1, 1, 2)).ravel()]

    within, before = opens + timedelta(days=12), opens - timedelta(days=9)
    assert closing(stage_on(within)) == [within] * 2
    assert closing(stage_on(closes + timedelta(days=9))) == [closes] * 2
    assert closing(stage_on(before)) == [before] * 2  # seen: there is nothing green to cut
    foretold = np.array([[[AXIS.index(before), AXIS.index(within)]]], dtype=float)
    assert closing(foretold) == [opens + timedelta(days=7), within]  # the published opening stands for a week


def test_growth_stop_caps_decandling_where_frost_comes_late() -> None:
    work, frost, stop = bundled_work("pinus-thunbergii", "decandling"), date(2015, 12, 20), date(2015, 10, 8)
    early = stage_on(date(2015, 5, 20))
    cycle = at(
        with_frost(frost, mean_c=25.0),
        needles_emerging=early,
        growth_stop=stage_on(stop),
        candles_firm=stage_on(stop),
    )
    found_ = window(work, cycle)
    assert days_of(found_.opens) == [stop - timedelta(days=110)]
    assert (found_.opens.reason.code, found_.opens.reason.subject) == ("stage", "growth_stop")
    assert AXIS.day(float(found_.closes[0, 0, 0])) == stop - timedelta(days=80)


def test_a_frost_limit_that_is_not_alone_drops_out_where_no_frost_comes() -> None:
    stop = date(2015, 9, 15)
    closes = [{"before_first_frost": {"days": 42}}, {"stage": "growth_stop"}]
    both, alone = work_of(closes=closes), work_of(closes=closes[:1])
    cycle = at(with_frost(NEVER), growth_stop=stage_on(stop), dormant=stage_on(date(2014, 11, 20)))
    assert AXIS.day(float(window(both, cycle).closes[0, 0, 0])) == stop
    assert AXIS.day(float(window(alone, cycle).closes[0, 0, 0])) == stop - timedelta(days=42)


# The last safe day

SAFE = {"weeks_before_first_frost": 10, "heat_left": {"base_c": 5, "sum": 600}, "releaf_weeks": 4}


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
    # Ten weeks before frost; 600 degree-days at ten a day before the colour; four weeks before growth stop.
    assert {limit.reason.code: days_of(limit) for limit in found_.closing} == {
        "safe_frost": [None if frost == NEVER else frost - timedelta(weeks=10)],
        "safe_heat": [colour - timedelta(days=60)],
        "safe_growth_stop": [stop - timedelta(weeks=4)],
    }
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
