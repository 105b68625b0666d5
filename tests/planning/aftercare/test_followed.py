"""What is followed and what ends it, from the log of one tree alone; rules are made up."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any
from uuid import UUID

import pytest

from calendar_core.garden.parts import Look, Measure, Part
from calendar_core.garden.state import Done, TreeState
from calendar_core.knowledge.forms.aftercare import FollowUp
from calendar_core.planning.aftercare.followed import Followed, concerns, ended, followed

TREE, HERE, THERE = UUID(int=1), UUID(int=2), UUID(int=3)
MADE, WORK, LATER = UUID(int=10), UUID(int=11), UUID(int=12)
DAY, TODAY = date(2015, 5, 1), date(2015, 8, 1)


def rule(**keys: Any) -> FollowUp:
    """A rule that follows wiring by a look a week later, with ``keys`` in place of what is usual."""
    usual: dict[str, Any] = {
        "label": "Look", "done": "Looked", "minutes": 1, "after": ("wire",), "first": {"days": 7},
        "look_at": "made up", "ends": {}, "if_bad": "made up", "basis": "common practice",
    }  # fmt: skip
    return FollowUp.model_validate({**usual, **keys})


def part(identity: UUID = HERE, **keys: Any) -> Part:
    return Part(**{"id": identity, "tree": TREE, "began": MADE, "since": DAY, "kind": "wire", **keys})


def done(operation: str, days: int, entry: UUID = WORK, *parts: UUID, share: float | None = None) -> Done:
    return Done(operation, DAY + timedelta(days=days), entry, parts, share)


def looked(days: int, *, well: bool = True, of: UUID = WORK, where: UUID | None = None) -> Look:
    return Look("r", of, DAY + timedelta(days=days), well, where)


def all_of(form: FollowUp, **state: Any) -> list[Followed]:
    return list(followed("r", form, TreeState(**state)))


def end(form: FollowUp, today: date = TODAY, **state: Any) -> date | None:
    """When the one thing followed ended."""
    (one,) = all_of(form, **state)
    return ended(one, form, TreeState(**state), today)


def begun(found: list[Followed]) -> list[tuple[UUID, UUID | None]]:
    return [(one.entry, one.part.id if one.part else None) for one in found]


# What begins it


def test_work_on_the_tree_is_followed_as_one_and_on_parts_part_by_part() -> None:
    parts = {HERE: part(), THERE: part(THERE)}
    assert begun(all_of(rule(), done=[done("wire", 0)])) == [(WORK, None)]
    both = all_of(rule(), done=[done("wire", 0, WORK, HERE, THERE)], parts=parts)
    assert begun(both) == [(WORK, HERE), (WORK, THERE)]


def test_the_latest_time_counts_for_each_part() -> None:
    parts = {HERE: part(), THERE: part(THERE)}
    twice = [done("wire", 0, WORK, HERE, THERE), done("wire", 9, LATER, THERE)]
    assert begun(all_of(rule(), done=twice, parts=parts)) == [(WORK, HERE), (LATER, THERE)]


def test_a_part_of_its_kind_is_followed_from_when_it_was_written_down_or_worked_on() -> None:
    form = rule(of=("wire",))
    assert begun(all_of(form, parts={HERE: part(), THERE: part(THERE, kind="graft")})) == [(MADE, HERE)]
    work = all_of(form, parts={HERE: part()}, done=[done("wire", 0, WORK, HERE)])
    assert begun(work) == [(WORK, HERE)]
    assert [one.operation for one in work] == ["wire"]


@pytest.mark.parametrize(("share", "found"), [(None, 0), (0.29, 0), (0.3, 1), (1.0, 1)])
def test_work_that_took_little_is_not_followed(share: float | None, found: int) -> None:
    assert len(all_of(rule(share_from=0.3), done=[done("wire", 0, share=share)])) == found


def test_work_that_names_no_part_is_left_out_where_only_parts_are_meant() -> None:
    assert all_of(rule(only_parts=True), done=[done("wire", 0)]) == []


def test_a_directive_that_a_rule_wants_must_be_there() -> None:
    form = rule(of=("branch",), after=(), directive="undecided", first={"decide_by": True})
    branch = part(kind="branch")
    assert all_of(form, parts={HERE: branch}) == []
    undecided = part(kind="branch", directive="undecided", directed=DAY + timedelta(days=30))
    (one,) = all_of(form, parts={HERE: undecided})
    assert (one.on, one.born) == (DAY + timedelta(days=30), DAY)  # counted from when it was said


def test_a_part_directed_anew_is_counted_from_then_and_its_looks_go_on_being_numbered() -> None:
    form = rule(of=("branch",), after=(), directive="undecided", first={"decide_by": True})
    again = DAY + timedelta(days=60)
    branch = part(kind="branch", directive="undecided", directed=again)
    looks = [looked(31, of=MADE, where=HERE, well=False)]
    (one,) = all_of(form, parts={HERE: branch}, looks=looks)
    assert (one.since, one.concern, len(one.looks)) == (again, False, 1)
    looks.append(looked(70, of=MADE, where=HERE))
    (one,) = all_of(form, parts={HERE: branch}, looks=looks)
    assert (one.since, len(one.looks)) == (looks[-1].on, 2)


def test_looks_of_other_rules_entries_and_parts_do_not_count() -> None:
    others = [
        Look("other", WORK, TODAY, well=False, part=HERE),
        looked(9, of=LATER, where=HERE),
        looked(9, where=THERE),
        looked(9),
    ]
    state: dict[str, Any] = {"parts": {HERE: part()}, "done": [done("wire", 0, WORK, HERE)]}
    (one,) = all_of(rule(), looks=[*others, looked(3, where=HERE)], **state)
    assert one.looks == [looked(3, where=HERE)]
    assert one.since == DAY + timedelta(days=3)


# What ends it


def test_with_nothing_to_end_it_goes_on_until_the_part_is_gone() -> None:
    form = rule(of=("wire",))
    assert end(form, date(2099, 1, 1), parts={HERE: part()}) is None
    assert end(form, parts={HERE: part(gone=TODAY)}) == TODAY


@pytest.mark.parametrize(
    ("work", "ends"),
    [
        (done("unwire", 9, LATER), True),
        (done("unwire", 9, LATER, HERE), True),
        (done("unwire", 9, LATER, THERE), False),  # of another part
        (done("unwire", -1, LATER), False),  # before it began
        (done("repot", 9, LATER), False),
    ],
)
def test_work_on_it_or_on_the_whole_tree_ends_it(work: Done, ends: bool) -> None:
    state: dict[str, Any] = {
        "parts": {HERE: part(), THERE: part(THERE)},
        "done": [done("wire", 0, WORK, HERE), work],
    }
    assert end(rule(ends={"after": ("unwire",)}), **state) == (work.on if ends else None)


@pytest.mark.parametrize(
    ("went", "ends"),
    [("gg", True), ("g", False), ("bgg", True), ("gbg", False), ("ggb", False), ("", False)],
)
def test_so_many_good_looks_in_a_row_end_it(went: str, ends: bool) -> None:
    looks = [looked(n + 1, well=one == "g") for n, one in enumerate(went)]
    found = end(rule(ends={"good": 2}), done=[done("wire", 0)], looks=looks)
    assert found == (looks[-1].on if ends else None)


def test_weeks_end_it_after_their_last_day_unless_the_last_look_went_badly() -> None:
    form, work = rule(ends={"weeks": 6}), [done("wire", 0)]
    last = DAY + timedelta(weeks=6)
    assert end(form, last, done=work) is None
    assert end(form, last + timedelta(days=1), done=work) == last
    assert end(form, date(2016, 8, 1), done=work, looks=[looked(9, well=False)]) is None
    assert end(form, date(2016, 8, 1), done=work, looks=[looked(9, well=False), looked(10)]) == last


def test_a_bad_look_does_not_outlive_its_part_or_the_work_that_ends_it() -> None:
    bad = [looked(3, well=False, where=HERE)]
    form = rule(ends={"after": ("unwire",), "weeks": 6})
    state: dict[str, Any] = {"done": [done("wire", 0, WORK, HERE)], "looks": bad}
    assert end(form, parts={HERE: part()}, **state) is None
    assert end(form, parts={HERE: part(gone=TODAY)}, **state) == TODAY
    unwired: dict[str, Any] = {**state, "done": [*state["done"], done("unwire", 9, LATER)]}
    assert end(form, parts={HERE: part()}, **unwired) == DAY + timedelta(days=9)


@pytest.mark.parametrize(
    ("limit", "values", "ends"),
    [
        ({"at_most": 0.0}, (18, 9), None),
        ({"at_most": 0.0}, (18, 0, 4), 1),
        ({"at_least": 9.0}, (8.9, 9), 1),
        ({"at_least": 9.0}, (8.9,), None),
    ],
)
def test_a_measurement_ends_it_the_first_time(
    limit: dict[str, float], values: tuple[float, ...], ends: int | None
) -> None:
    measured = [Measure("width", float(v), DAY + timedelta(days=n)) for n, v in enumerate(values)]
    form = rule(of=("wire",), ends={"measure": {"what": "width", **limit}})
    found = end(form, parts={HERE: part(measures=measured)})
    assert found == (None if ends is None else DAY + timedelta(days=ends))


def test_what_was_measured_before_it_began_does_not_end_it() -> None:
    form = rule(only_parts=True, ends={"measure": {"what": "width", "at_most": 0.0}})
    early = part(measures=[Measure("width", 0.0, DAY - timedelta(days=1))])
    assert end(form, parts={HERE: early}, done=[done("wire", 0, WORK, HERE)]) is None


@pytest.mark.parametrize("well", [True, False])
def test_measuring_counts_as_a_look_and_leaves_it_as_well_as_it_was(well: bool) -> None:
    form = rule(of=("wire",), measure=("bite",))
    measures = [Measure("bite", 1.0, DAY + timedelta(days=n)) for n in (0, 3, 9)]
    here = part(measures=measures)
    (one,) = all_of(form, parts={HERE: here}, looks=[looked(3, well=well, of=MADE, where=HERE)])
    assert [(look.on - DAY).days for look in one.looks] == [
        3,
        9,
    ]  # not the day it began, and once where it was looked at
    assert one.concern is not well
    (untold,) = all_of(form, parts={HERE: here})
    assert not untold.concern


def test_what_was_decided_is_undecided_no_more() -> None:
    form = rule(of=("branch",), after=(), directive="undecided", first={"decide_by": True})
    decided = part(kind="branch", directive="keep as backup", decide_by="leaf_fall", directed=TODAY)
    assert end(form, parts={HERE: decided}) == TODAY


def test_concerns_are_what_went_badly_last() -> None:
    forms = {"r": rule(), "other": rule()}
    state = TreeState(done=[done("wire", 0)], looks=[looked(3, well=False)])
    assert [one.rule for one in concerns(state, forms, TODAY)] == ["r"]
    state.looks.append(looked(4))
    assert concerns(state, forms, TODAY) == []
