"""What was decided of a part: asked for until it is done, in its work's season, and never beside a look for the same."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from tests.planning.made_up import Bench, absent_of, codes, items_of, knowledge
from tests.planning.watched import answer, did, looks, maple, part, told

if TYPE_CHECKING:
    from uuid import UUID

    from calendar_core.garden.model import Entry
    from calendar_core.planning.items import Item

DAY, WEEK = timedelta(days=1), timedelta(weeks=1)
MAY, JUNE, JANUARY = date(2015, 5, 1), date(2015, 6, 20), date(2016, 1, 10)


def decided(
    operation: str, kind: str, on: date = JUNE, species: str = "acer-palmatum"
) -> tuple[Bench, UUID, Entry]:
    """A tree with one part, of which something was decided."""
    bench = maple(species)
    made = part(bench, MAY, "low left", kind=kind)
    return bench, made, told(bench, on, "part", made, decided=operation)


def asked(bench: Bench, today: date) -> list[Item]:
    return [item for item in bench.plan(today).items if item.rule.startswith("decided ")]


def the_item(bench: Bench, today: date) -> Item:
    (found,) = asked(bench, today)
    return found


def why_not(bench: Bench, today: date) -> list[str]:
    absent = [one for one in bench.plan(today).not_planned if one.rule.startswith("decided ")]
    return [code for one in absent for code in codes(one)]


@pytest.mark.parametrize("today", [JUNE, JUNE + 5 * DAY, JUNE + 40 * DAY])
def test_work_without_a_season_is_due_at_once_and_in_time_for_its_weeks(today: date) -> None:
    bench, graft, _ = decided("sever graft", "graft")
    item, form = the_item(bench, today), knowledge().operations["sever graft"]
    assert form.of_part is not None
    assert (item.operation, item.part, item.part_id, item.status) == (
        "sever graft",
        "low left",
        graft,
        "wished",
    )
    assert item.rule == f"decided sever graft@{graft.hex[:8]}"
    assert (item.opens.likely, item.closes.likely) == (JUNE, JUNE + form.of_part.weeks * WEEK)
    assert (item.how, item.cautions, item.label, item.done) == (
        form.of_part.how, form.cautions, "Sever the graft", "Severed",
    )  # fmt: skip
    reason = item.reasons[0]
    assert (reason.code, reason.subject, reason.found) == ("decided", "sever graft", JUNE)


def test_what_is_not_done_in_its_weeks_is_late_since_they_are_over() -> None:
    bench, *_ = decided("sever graft", "graft")
    weeks = knowledge().operations["sever graft"].of_part.weeks  # type: ignore[union-attr] # it has one
    late = the_item(bench, JUNE + weeks * WEEK + DAY)
    assert [r.found for r in late.reasons if r.code == "overdue"] == [JUNE + weeks * WEEK]
    assert "overdue" not in codes(the_item(bench, JUNE + weeks * WEEK))


def test_a_wound_is_recut_only_while_the_tree_grows() -> None:
    winter = the_item(decided("recut wound", "wound", JANUARY)[0], JANUARY)
    assert date(2016, 4, 1) <= winter.opens.likely <= date(2016, 5, 10)
    assert winter.opens.likely < winter.closes.likely
    assert the_item(decided("recut wound", "wound")[0], JUNE).opens.likely == JUNE


@pytest.mark.parametrize(
    ("species", "today"),
    [
        ("acer-palmatum", JUNE),
        ("acer-palmatum", JANUARY),
        ("pinus-thunbergii", JUNE),
        ("pinus-thunbergii", JANUARY),
    ],
)
def test_work_with_a_season_waits_for_its_next_window(species: str, today: date) -> None:
    bench, branch, _ = decided("structural prune", "branch", today, species)
    item, plan = the_item(bench, today), bench.plan(today)
    (tree,) = bench.trees
    windows = [one for one in items_of(plan, tree, "structural prune") if one.part_id is None]
    next_one = min((one for one in windows if one.chance >= 0.5), key=lambda one: one.opens.likely)
    assert (item.opens, item.closes, item.cycle) == (next_one.opens, next_one.closes, next_one.cycle)
    assert (item.how, item.cautions, item.part_id) == (next_one.how, next_one.cautions, branch)
    assert codes(item)[0] == "decided"
    assert "wished" not in codes(item)


def test_work_done_to_another_part_does_not_put_off_what_was_decided_of_this_one() -> None:
    bench, branch, _ = decided("structural prune", "branch")
    other = part(bench, MAY, "top", kind="branch")
    before = the_item(bench, JUNE)
    did(bench, JUNE, "structural prune", other)
    after = the_item(bench, JUNE)
    assert (after.id, after.part_id, after.opens, after.cycle) == (
        before.id,
        branch,
        before.opens,
        before.cycle,
    )


def test_a_weak_tree_is_not_cut_and_says_why() -> None:
    bench, *_ = decided("structural prune", "branch")
    told(bench, JUNE, "state", vigour=2)
    assert asked(bench, JUNE) == []
    assert why_not(bench, JUNE)[:2] == ["decided", "vigour_low"]


def test_a_second_heavy_job_waits_for_the_next_cycle() -> None:
    """As for a wish: one heavy job a cycle."""
    bench, *_ = decided("structural prune", "branch")
    did(bench, date(2015, 3, 20), "air layer")
    assert the_item(bench, JUNE).cycle == 2016
    layer, *_ = decided("separate air layer", "air layer")
    did(layer, date(2015, 3, 20), "repot")
    later = the_item(layer, JUNE)
    assert (later.cycle, "heavy_done" in codes(later)) == (2016, True)
    told(layer, JUNE, "wish", operation="separate air layer", cycle=None, anyway=True)
    assert the_item(layer, JUNE).opens.likely == JUNE


def test_it_takes_the_place_of_what_is_due_as_a_wish_does() -> None:
    bench, *_ = decided("structural prune", "branch", JANUARY)
    did(bench, date(2010, 3, 20), "repot")
    plan = bench.plan(JANUARY)
    (tree,) = bench.trees
    repots = [one for one in absent_of(plan, tree, "repot") if one.cycle == 2016]
    assert [codes(one) for one in repots] == [["one_heavy_job"]]


def test_it_stands_in_place_of_a_look_that_asks_for_the_same() -> None:
    """Wire comes off half a year after it was put on, on 30 October, but at once where that was decided."""
    bench, wire, _ = decided("unwire", "wire", date(2015, 10, 1))
    plan = bench.plan(date(2015, 10, 20))
    assert [one.rule.partition("#")[0] for one in looks(plan)] == ["look at the wire"]
    (gone,) = [one for one in plan.not_planned if one.rule.startswith("wire off#")]
    assert codes(gone) == ["planned_before"]
    item = the_item(bench, date(2015, 10, 20))
    assert (item.part_id, item.opens.likely) == (wire, date(2015, 10, 1))
    free = part(bench, MAY, "top", kind="wire")  # of which nothing was decided
    left = looks(bench.plan(date(2015, 10, 20)), "wire off")
    assert [one.part_id for one in left] == [free]


def test_a_graft_that_may_be_severed_is_asked_for_once() -> None:
    """Two looks clearly thicker behind the trunk, in the year after it was made: the look itself would ask for it."""
    bench = maple()
    graft = part(bench, date(2014, 4, 1), "low left", kind="graft")
    for day, behind in ((date(2015, 5, 1), 5.2), (date(2015, 6, 1), 6.4)):
        told(bench, day, "measure", graft, values={"entry": 4.0, "exit": behind})
    assert [one.label for one in looks(bench.plan(JUNE), "graft growth")] == ["The graft may be severed"]
    told(bench, JUNE, "part", graft, decided="sever graft")
    assert looks(bench.plan(JUNE), "graft growth") == []
    assert {"decided", "graft_ready"} <= set(codes(the_item(bench, JUNE)))


def test_it_ends_as_it_is_done_and_is_told_as_done_where_it_was_planned() -> None:
    bench, branch, _ = decided("structural prune", "branch")
    item = the_item(bench, JUNE)
    done = did(bench, JUNE + 10 * DAY, "structural prune", branch)
    today = JUNE + 12 * DAY
    assert asked(bench, today) == []
    closed = [
        one for one in bench.plan(today).not_planned if (one.rule, one.cycle) == (item.rule, item.cycle)
    ]
    assert [codes(one) for one in closed] == [["done"]]
    bench.entries[-1] = replace(told(bench, today, "work"), voids=done.id)
    assert the_item(bench, today).id == item.id


def test_what_is_gone_gets_nothing_any_more() -> None:
    bench, branch, _ = decided("structural prune", "branch")
    told(bench, JUNE + DAY, "part", branch, gone=True)
    assert asked(bench, JUNE + DAY) == []
    assert set(why_not(bench, JUNE + DAY)) == {"ended"}


def test_taken_back_nothing_is_asked_for_and_decided_anew_it_is_another() -> None:
    bench, graft, first = decided("sever graft", "graft")
    item = the_item(bench, JUNE)
    told(bench, JUNE + DAY, "part", graft, decided="")
    assert asked(bench, JUNE + DAY) == []
    told(bench, JUNE + 2 * DAY, "part", graft, decided="sever graft")
    anew = the_item(bench, JUNE + 2 * DAY)
    assert (anew.id != item.id, anew.rule, anew.opens.likely) == (True, item.rule, JUNE + 2 * DAY)
    assert first.data["decided"] == "sever graft"


def test_put_off_it_waits_and_dropped_it_rests_until_the_next_cycle() -> None:
    bench, *_ = decided("sever graft", "graft")
    item, until = the_item(bench, JUNE), JUNE + 7 * DAY
    answer(bench, item, JUNE, answer="put off", until=until.isoformat())
    waits = the_item(bench, JUNE)
    assert (waits.id, waits.opens.likely, "put_off" in codes(waits)) == (item.id, until, True)
    answer(bench, item, JUNE, answer="not this cycle")
    assert asked(bench, JUNE) == []
    assert why_not(bench, JUNE) == ["decided", "dropped"]
    assert the_item(bench, JANUARY).opens.likely > date(2015, 10, 1)


def test_it_is_the_years_heavy_job_of_its_operation_and_parts_share_it() -> None:
    """A yearly programme asks for structural pruning of the whole tree; which branches it takes was decided."""
    bench, branch, _ = decided("structural prune", "branch")
    told(bench, MAY, "state", aim="structure")
    top = part(bench, JUNE, "top", kind="branch", decided="structural prune")
    (tree,) = bench.trees
    plan = bench.plan(JUNE)
    of_2015 = [
        one
        for one in items_of(plan, tree, "structural prune")
        if (one.cycle, one.status) != (2015, "possible")
    ]
    assert {one.part_id for one in of_2015 if one.cycle == 2015} == {branch, top}
    gone = [one for one in absent_of(plan, tree, "structural prune") if one.cycle == 2015]
    assert ["planned_before"] in [codes(one) for one in gone]
