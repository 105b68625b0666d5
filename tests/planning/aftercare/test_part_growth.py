"""What measurements of a part foretell, in the plan of one tree in Nagano."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.planning.aftercare.part_growth import foretold
from tests.planning.made_up import Bench, knowledge
from tests.planning.watched import maple, part, phases_of, state_of, the_look, told

if TYPE_CHECKING:
    from calendar_core.planning.items import Reason

TODAY = date(2015, 8, 1)
GROWTH = knowledge().growth
Course = list[tuple[date, float]]


def said(bench: Bench, kind: str, name: str, today: date = TODAY) -> dict[str, Reason]:
    """What is foretold of a part by code."""
    state, phases = state_of(bench, today), phases_of(bench, today)
    (one,) = [one for one in state.parts.values() if one.name == name]
    return {reason.code: reason for reason in foretold(kind, one, state, phases, GROWTH)}


def wound(course: Course, since: date = date(2014, 4, 1), **data: Any) -> Bench:
    bench = maple()
    made = part(bench, since, "wound", kind="wound", **data)
    for on, width in course:
        told(bench, on, "measure", made, values={"width": width})
    return bench


# Wounds


def test_a_wound_that_was_not_measured_is_not_foretold() -> None:
    assert said(wound([]), "closing", "wound") == {}
    assert said(wound([(TODAY, 0.0)]), "closing", "wound") == {}


def test_a_small_wound_closes_on_a_day_and_a_wide_one_in_years() -> None:
    small = said(wound([(date(2015, 5, 1), 2.0)]), "closing", "wound", date(2015, 5, 2))
    (found,) = small.values()
    assert found.code == "usually_closes_by"
    assert str(found.found) <= found.subject <= str(found.needed)
    wide = said(wound([(date(2015, 5, 1), 60.0)]), "closing", "wound")["usually_closes_in_years"]
    # Neely 1979: 10 to 17 mm a season in open ground, about half of it in a pot, would take 60 mm 7 to 15 seasons;
    # as wide wounds close by more a year (Neely 1988), it may be half of that.
    assert isinstance(wide.found, float)
    assert isinstance(wide.needed, float)
    assert 3 <= wide.found <= 8
    assert 9 <= wide.needed <= 24


def test_a_wound_of_fourteen_millimetres_takes_one_to_three_summers_in_a_pot() -> None:
    # Neely 1979: 13 to 17 mm a season in open ground; 0.4 to 0.6 of it in a pot (estimate): 1.4 to 2.7 years. Where the
    # late end lies beyond what the plan reaches no day is told, and nothing of a pace that nobody measured.
    told_ = said(wound([(date(2015, 5, 1), 14.0)]), "closing", "wound", date(2015, 5, 2))
    (found,) = told_.values()
    assert found.code == "usually_closes_in_years"
    assert float(str(found.found)) <= 1.4
    assert float(str(found.needed)) >= 2.7


def test_the_known_wound_of_32_millimetres_lies_well_inside() -> None:
    # A maple's branch wound of about 32 mm closed in about two and a half years (growers' forum, opinion level).
    (found,) = said(wound([(date(2015, 5, 1), 32.0)]), "closing", "wound", date(2015, 5, 2)).values()
    assert float(str(found.found)) <= 2.4
    assert float(str(found.needed)) >= 2.6


def test_a_pace_is_told_of_two_measurements_with_growth_in_between() -> None:
    begun, later = (date(2015, 5, 1), 60.0), (date(2015, 7, 30), 57.0)
    assert set(said(wound([begun]), "closing", "wound")) == {"usually_closes_in_years"}
    assert set(said(wound([begun, later]), "closing", "wound")) == {"closes_in_years"}
    winter = [(date(2014, 12, 1), 60.0), (date(2015, 1, 20), 59.0)]  # nothing grows in between
    assert set(said(wound(winter), "closing", "wound")) == {"usually_closes_in_years"}


def test_a_wound_whose_day_is_past_is_to_be_measured_again() -> None:
    small = wound([(date(2015, 5, 1), 2.0)])
    day = said(small, "closing", "wound", date(2015, 5, 2))["usually_closes_by"].subject
    late = said(small, "closing", "wound", date(2015, 12, 1))
    assert list(late) == ["usually_closed_by_now"]
    found = late["usually_closed_by_now"].found
    assert isinstance(found, date)
    assert abs((found - date.fromisoformat(day)).days) <= 7


@settings(max_examples=15)
@given(st.floats(25, 80), st.floats(1, 12))
def test_a_wider_wound_takes_longer(width: float, more: float) -> None:
    years = [said(wound([(date(2015, 5, 1), w)]), "closing", "wound") for w in (width, width + more)]
    narrow, wide = (one["usually_closes_in_years"] for one in years)
    assert float(str(narrow.found)) <= float(str(wide.found))
    assert float(str(narrow.needed)) <= float(str(wide.needed))


@pytest.mark.parametrize("year", [2013, 2014])
def test_its_own_pace_is_learned_from_seasons_measured_or_before_the_plan_reaches(year: int) -> None:
    begun = date(year, 5, 1)

    def years(narrower: float) -> float:
        course = [(begun, 60.0), (date(year, 9, 1), 60.0 - narrower)]
        return float(str(said(wound(course, begun), "closing", "wound")["closes_in_years"].needed))

    slow, middling, fast = (years(mm) for mm in (0.5, 4.0, 9.0))
    assert fast < middling < slow


def test_high_on_the_tree_wounds_close_faster() -> None:
    def years(height: float) -> float:
        bench = wound([(date(2015, 5, 1), 40.0)], height_mm=height)
        told(bench, TODAY, "measure", values={"height": 600.0})
        return float(str(said(bench, "closing", "wound")["usually_closes_in_years"].needed))

    assert years(550) < years(300) < years(50)


def test_the_forecast_stands_with_the_look() -> None:
    bench = wound([(date(2015, 5, 1), 30.0)], date(2015, 4, 1))
    codes = [reason.code for reason in the_look(bench, TODAY, "wound closing").reasons]
    assert codes[:3] == ["watched", "looked_well", "measured"]  # measuring it is a look at it
    assert codes[-1] == "usually_closes_in_years"


# Grafts


def graft(ratios: list[tuple[date, float]], since: date = date(2014, 4, 1)) -> Bench:
    bench = maple()
    made = part(bench, since, "graft", kind="graft")
    for on, ratio in ratios:
        told(bench, on, "measure", made, values={"entry": 4.0, "exit": 4.0 * ratio})
    return bench


JUNE, JULY = date(2015, 6, 1), date(2015, 7, 10)


def test_a_graft_clearly_thicker_on_two_looks_may_be_severed() -> None:
    assert set(said(graft([(JUNE, 1.2), (JULY, 1.25)]), "graft", "graft")) == {"graft_ratio", "graft_ready"}
    assert said(graft([(JUNE, 1.2), (JULY, 1.25)]), "graft", "graft")["graft_ratio"].found == 1.25


@pytest.mark.parametrize("ratios", [[(JULY, 1.4)], [(JUNE, 1.0), (JULY, 1.4)], [(JUNE, 1.4), (JULY, 1.1)], [(JULY, 1.3), (JULY, 1.4)]])  # fmt: skip
def test_one_thick_look_is_not_enough(ratios: list[tuple[date, float]]) -> None:
    assert set(said(graft(ratios), "graft", "graft")) == {"graft_ratio"}


def test_a_graft_of_this_year_waits_for_the_next() -> None:
    young = said(graft([(JUNE, 1.3), (JULY, 1.4)], date(2015, 4, 1)), "graft", "graft")
    assert set(young) == {"graft_ratio", "graft_waits"}
    assert young["graft_waits"].found == 2016
    unmeasured = maple()
    part(unmeasured, JUNE, "graft", kind="graft", values={"entry": 4.0})
    assert said(unmeasured, "graft", "graft") == {}


# Leaders


def leader(own: float, rivals: dict[str, float], trunk: float | None = None) -> Bench:
    bench = maple()
    part(bench, JUNE, "top", kind="apex", values={"diameter": own})
    for name, mm in rivals.items():
        part(bench, JUNE, name, kind="branch", values={"diameter": mm})
    if trunk is not None:
        told(bench, JUNE, "measure", values={"diameter": trunk})
    return bench


def test_a_leader_is_told_beside_trunk_and_rivals_the_thickest_first() -> None:
    found = said(leader(6.0, {"thin": 3.0, "near": 5.0, "thick": 7.5}, 10.0), "leader", "top")
    assert found["leader_ratio"].found == 0.6
    assert found["rivals"].subject == "thick, near"  # from 0.8 on, in growth.toml


def test_a_leader_without_rivals_or_trunk_says_nothing() -> None:
    assert said(leader(6.0, {"thin": 3.0}), "leader", "top") == {}
    bench = maple()
    part(bench, JUNE, "top", kind="apex")
    assert said(bench, "leader", "top") == {}


def test_a_rival_that_is_gone_is_none() -> None:
    bench = leader(6.0, {"thick": 7.5})
    part(bench, JULY, "thick", gone=True)
    assert said(bench, "leader", "top") == {}
