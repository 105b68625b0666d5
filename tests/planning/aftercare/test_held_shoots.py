"""Shoots held at a number of leaf pairs: cut back when they have grown out, each time once, and no cut forgotten."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.planning.aftercare.held_shoots import IN_TIME_DAYS
from tests.planning.made_up import Bench, codes, knowledge
from tests.planning.watched import answer, did, maple, part, told, warmer, why

if TYPE_CHECKING:
    from uuid import UUID

    from calendar_core.planning.items import Item, NotPlanned, Plan

DAY = timedelta(days=1)
MAY = date(2015, 5, 1)


def held(on: date = MAY, pairs: int = 1, species: str = "acer-palmatum") -> tuple[Bench, UUID]:
    """A tree with one held branch."""
    bench = maple(species)
    return bench, part(bench, on, "fine", kind="branch", directive="hold", pairs=pairs)


def cut_backs(plan: Plan) -> list[Item]:
    return [item for item in plan.items if item.rule.startswith("hold#")]


def the_cut(bench: Bench, today: date) -> Item:
    (found,) = cut_backs(bench.plan(today))
    return found


def absent(plan: Plan) -> list[NotPlanned]:
    return [one for one in plan.not_planned if one.rule.startswith("hold#")]


def test_a_held_shoot_is_cut_back_when_it_has_grown_its_pairs() -> None:
    bench, branch = held()
    item = the_cut(bench, MAY)
    rule = knowledge().growth.pairs
    assert (item.operation, item.part_id, item.done, item.measure) == ("cut back", branch, "Cut", ("pairs",))
    assert (item.label, item.cycle) == ("Cut back to one pair", 2015)
    heat = (1 + rule.let_grow.value) * rule.heat_per_pair.value
    weeks = (
        heat / 12 / 7
    )  # May and June in Nagano are about 17 degC, 12 above the base (Japan Meteorological Agency)
    assert weeks * 0.7 <= (item.opens.likely - MAY).days / 7 <= weeks * 1.3
    assert (item.closes.likely - item.opens.likely).days == IN_TIME_DAYS


@pytest.mark.slow
@pytest.mark.parametrize("today", [MAY, MAY + 9 * DAY])
def test_more_pairs_take_longer_and_warmth_is_quicker(today: date) -> None:
    days = [the_cut(held(pairs=n)[0], today).opens.likely for n in (1, 2, 3)]
    assert days == sorted(set(days))
    bench, _ = held()
    colder, hotter = (the_cut(warmer(bench, by_c), today).opens.likely for by_c in (-3.0, 3.0))
    assert hotter < days[0] < colder


@pytest.mark.slow
@settings(max_examples=10)
@given(st.lists(st.integers(5, 60), max_size=4))
def test_each_cut_ends_one_item_and_begins_the_next(waits: list[int]) -> None:
    bench, branch = held()
    today, ids = MAY, set()
    for number, wait in enumerate([*waits, 1]):
        plan = bench.plan(today)
        assert len(cut_backs(plan)) + len([one for one in absent(plan) if why([one]) != ["done"]]) == 1
        assert [one.rule for one in absent(plan) if why([one]) == ["done"]] == [
            f"hold#{branch.hex[:8]}.{n}" for n in range(number)
        ]
        for item in cut_backs(plan):
            assert item.occurrence == number
            assert {one.id for one in cut_backs(bench.plan(today + 3 * DAY))} <= {item.id}
            assert item.id not in ids
            ids.add(item.id)
        today += wait * DAY
        did(bench, today, "cut back", branch)


def test_what_was_cut_is_closed_under_the_rule_and_cycle_it_was_planned_by() -> None:
    bench, branch = held()
    item = the_cut(bench, MAY)
    did(bench, MAY + 40 * DAY, "cut back", branch)
    (gone,) = [one for one in absent(bench.plan(MAY + 40 * DAY)) if why([one]) == ["done"]]
    assert (gone.rule, gone.cycle, gone.tree_id) == (item.rule, item.cycle, item.tree_id)


def test_pairs_that_were_counted_teach_how_fast_it_grows() -> None:
    bench, branch = held()
    usual = the_cut(bench, MAY).opens.likely
    told(bench, MAY + 20 * DAY, "measure", branch, values={"pairs": 4.0})  # in so few days: vigorous
    fast = the_cut(bench, MAY + 20 * DAY)
    assert fast.opens.likely < usual
    assert "counted" in codes(fast)


def test_a_directive_of_today_is_counted_from_today() -> None:
    bench, branch = held()
    old = maple()
    same = part(old, date(2012, 6, 1), "fine", kind="branch")
    told(old, MAY, "part", same, directive="hold", pairs=1)
    assert same == branch
    assert the_cut(old, MAY).opens == the_cut(bench, MAY).opens


def test_what_growth_stop_cuts_short_is_cut_next_year() -> None:
    late = date(2015, 9, 5)
    bench, _ = held(late)
    for today in (late, date(2015, 10, 1), date(2016, 2, 1)):
        item = the_cut(bench, today)
        assert date(2016, 5, 1) <= item.opens.likely <= date(2016, 7, 15), today


def test_a_late_cut_stays_in_the_plan() -> None:
    bench, _ = held()
    first = the_cut(bench, MAY)
    for days in (30, 60, 120):
        item = the_cut(bench, first.opens.late + days * DAY)
        assert item.id == first.id
        assert item.closes.early >= first.opens.late + days * DAY
        assert "overdue" in codes(item)


def test_put_off_and_not_this_year() -> None:
    bench, _ = held()
    item = the_cut(bench, MAY)
    until = item.opens.late + 30 * DAY
    answer(bench, item, MAY, answer="put off", until=until.isoformat())
    assert the_cut(bench, MAY).opens.early == until
    answer(bench, item, MAY, answer="not this cycle")
    plan = bench.plan(MAY + DAY)
    assert cut_backs(plan) == []
    assert why(absent(plan)) == ["dropped"]
    assert the_cut(bench, date(2016, 3, 1)).opens.likely >= date(2016, 5, 1)


@pytest.mark.parametrize("change", [{"directive": "grow free"}, {"gone": True}])
def test_a_shoot_no_longer_held_is_left_alone(change: dict[str, object]) -> None:
    bench, branch = held()
    told(bench, MAY, "part", branch, **change)
    assert cut_backs(bench.plan(MAY)) == []


def test_work_elsewhere_on_the_tree_does_not_count_as_its_cut() -> None:
    bench, branch = held()
    other = part(bench, MAY, "other", kind="branch")
    before = the_cut(bench, MAY + 20 * DAY)
    did(bench, MAY + 10 * DAY, "cut back", other)
    did(bench, MAY + 10 * DAY, "cut back")
    did(bench, MAY + 10 * DAY, "wire", branch)
    assert the_cut(bench, MAY + 20 * DAY) == before


def test_a_tropical_shoot_grows_in_any_month() -> None:
    bench, _ = held(date(2015, 10, 1), species="ficus-microcarpa")
    assert the_cut(bench, date(2015, 10, 1)).opens.likely < date(2016, 3, 1)


def test_a_cut_that_nobody_made_rests_with_the_tree_and_comes_with_the_new_shoots() -> None:
    bench, _ = held()
    first = the_cut(bench, MAY)
    assert "overdue" in codes(the_cut(bench, date(2015, 10, 1)))
    for today in (date(2015, 12, 20), date(2016, 2, 10), date(2016, 4, 10)):
        item = the_cut(bench, today)
        assert item.id == first.id
        assert date(2016, 5, 1) <= item.opens.likely <= date(2016, 7, 15)
        assert "overdue" not in codes(item)
    assert "overdue" in codes(the_cut(bench, date(2016, 8, 20)))
