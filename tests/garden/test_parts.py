"""Parts, measurements and looks are a fold over the log: order of arrival, repeats, voids, and other trees."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID, uuid5

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.model import Entry
from calendar_core.garden.parts import MEASURES, Decision, Look, Measure, Part
from calendar_core.garden.state import TreeState, states
from calendar_core.knowledge.words import DIRECTIVES, PART_KINDS

GARDEN, ONE, OTHER = UUID(int=1), UUID(int=2), UUID(int=3)
PARTS = {ONE: (UUID(int=10), UUID(int=11)), OTHER: (UUID(int=20), UUID(int=21))}
OF = UUID(int=30)
FIRST, ON = date(2015, 1, 1), date(2015, 12, 31)

values = st.dictionaries(st.sampled_from(tuple(MEASURES)), st.floats(0, 90), max_size=2)
said = st.fixed_dictionaries(
    {},
    optional={
        "kind": st.sampled_from(PART_KINDS),
        "name": st.sampled_from(("low left", "apex", "Ast über dem Schnitt")),
        "height_mm": st.floats(0, 900),
        "side": st.sampled_from(("front", "back")),
        "directive": st.sampled_from(DIRECTIVES),
        "pairs": st.integers(1, 3),
        "decide_by": st.just("leaf_fall"),
        "instead_of": st.sampled_from(PARTS[ONE]).map(str),
        "gone": st.booleans(),
        "values": values,
    },
)
looked = st.fixed_dictionaries(
    {"rule": st.sampled_from(("look at the wire", "wound closing")), "of": st.just(str(OF))},
    optional={"went": st.sampled_from(("well", "badly")), "values": values},
)
contents = st.one_of(
    st.tuples(st.just("part"), said),
    st.tuples(st.just("measure"), st.fixed_dictionaries({"values": values})),
    st.tuples(st.just("look"), looked),
    st.tuples(st.just("work"), st.just({"operation": "wire"})),
)


@st.composite
def entries(draw: st.DrawFn) -> Entry:
    """One entry about some parts of one of two trees; many fall on one day, or were recorded at one moment."""
    tree = draw(st.sampled_from((ONE, OTHER)))
    kind, data = draw(contents)
    least = 1 if kind == "part" else 0
    named = draw(st.lists(st.sampled_from(PARTS[tree]), min_size=least, max_size=2, unique=True))
    happened = FIRST + timedelta(days=draw(st.integers(0, 3)))
    recorded = datetime(2015, 1, 10, tzinfo=UTC) + timedelta(hours=draw(st.integers(0, 2)))
    identity = UUID(int=draw(st.integers(1000, 1200)))
    return Entry(
        identity, GARDEN, (tree,), happened, recorded, "owner", kind, data, part_ids=tuple(named)  # type: ignore[arg-type]
    )  # fmt: skip


few = settings(max_examples=60)
logs = st.lists(entries(), max_size=10, unique_by=lambda e: e.id)


def fold(log: list[Entry], on: date = ON) -> dict[UUID, TreeState]:
    return states([ONE, OTHER], log, on)


def entry(of: Any, number: int, /, *, days: int = 0, part: UUID | None = None, **data: Any) -> Entry:
    """Entry ``number`` of the first tree, about its first part unless another is named."""
    ids = (PARTS[ONE][0],) if part is None else (part,)
    recorded = datetime(2015, 2, 1, tzinfo=UTC) + timedelta(minutes=number)
    on = FIRST + timedelta(days=days)
    return Entry(
        uuid5(GARDEN, str(number)), GARDEN, (ONE,), on, recorded, "owner", of, data, part_ids=ids
    )  # fmt: skip


def void(of: Entry, number: int) -> Entry:
    return replace(entry(of.kind, number), tree_ids=of.tree_ids, happened=of.happened, voids=of.id)


def part(*log: Entry, on: date = ON) -> Part:
    """The first part as the log leaves it."""
    return fold(list(log), on)[ONE].parts[PARTS[ONE][0]]


# Properties of any log


@few
@given(logs.flatmap(lambda log: st.tuples(st.just(log), st.permutations(log))))
def test_any_order_of_arrival_gives_the_same_state(both: tuple[list[Entry], list[Entry]]) -> None:
    written, arrived = both
    assert fold(arrived) == fold(written)


@pytest.mark.slow
@few
@given(logs, st.data())
def test_entries_that_come_twice_change_nothing(log: list[Entry], data: st.DataObject) -> None:
    again = data.draw(st.lists(st.sampled_from(log), max_size=4)) if log else []
    assert fold([*again, *log, *again]) == fold(log)


@few
@given(logs.filter(bool), st.data())
def test_void_and_redo_equals_never_having_erred(log: list[Entry], data: st.DataObject) -> None:
    wrong = data.draw(st.sampled_from(log))
    rest = [e for e in log if e is not wrong]
    assert fold([*log, void(wrong, 900)]) == fold(rest)
    redone = replace(wrong, id=uuid5(GARDEN, "redone"))
    assert fold([*log, void(wrong, 900), redone]) == fold([*rest, redone])


@few
@given(logs)
def test_parts_of_other_trees_are_untouched(log: list[Entry]) -> None:
    for tree, other in ((ONE, OTHER), (OTHER, ONE)):
        mine = [e for e in log if tree in e.tree_ids]
        assert fold(log)[tree] == fold(mine)[tree]
        assert not set(fold(mine)[tree].parts) & set(PARTS[other])
        assert {made.tree for made in fold(log)[tree].parts.values()} <= {tree}


@few
@given(logs)
def test_what_was_measured_is_told_in_order_and_only_of_what_is_there(log: list[Entry]) -> None:
    """The fold against its meaning: every value of a valid entry stands once, by day, at each part that it names."""
    for tree, state in fold(log).items():
        for one in (*state.parts.values(), None):
            course = state.measures if one is None else one.measures
            assert [m.on for m in course] == sorted(m.on for m in course)
        written = [e for e in log if tree in e.tree_ids and e.kind in ("part", "measure", "look")]
        told = [len(e.data.get("values", {})) for e in written if not e.part_ids]
        assert len(state.measures) == sum(told)


@few
@given(logs, st.integers(-1, 4))
def test_what_happens_later_is_not_seen(log: list[Entry], after: int) -> None:
    on = FIRST + timedelta(days=after)
    assert fold(log, on) == fold([e for e in log if e.happened <= on])


# Cases


def test_a_part_begins_with_the_first_entry_that_names_it() -> None:
    later = entry("part", 1, days=3, directive="watch")
    first = entry("part", 2, days=1, kind="graft", name="front graft", height_mm=40.0, side="front")
    found = part(later, first)
    assert (found.began, found.since) == (first.id, first.happened)
    assert (found.kind, found.name, found.height_mm, found.side) == ("graft", "front graft", 40.0, "front")
    assert found.directive == "watch"


def test_the_last_word_on_a_day_is_the_one_recorded_last() -> None:
    hold = entry("part", 1, kind="branch", directive="hold", pairs=2)
    free = entry("part", 2, directive="grow free")
    assert part(free, hold).directive == "grow free"
    assert part(free, hold).pairs == 2  # of which the later entry says nothing


def test_a_part_that_is_gone_is_kept_but_not_open_and_may_come_back() -> None:
    made = entry("part", 1, kind="branch", name="low left")
    cut = entry("part", 2, days=2, gone=True)
    back = entry("part", 3, days=3, gone=False)
    gone = fold([made, cut])[ONE]
    assert gone.parts[PARTS[ONE][0]].gone == cut.happened
    assert gone.open_parts == []
    assert [one.name for one in fold([made, cut, back])[ONE].open_parts] == ["low left"]
    assert [one.name for one in fold([made, cut], FIRST)[ONE].open_parts] == ["low left"]


def test_open_parts_stand_from_the_top_down() -> None:
    low, high = PARTS[ONE]
    log = [
        entry("part", 1, part=low, kind="branch", name="a low one", height_mm=30.0),
        entry("part", 2, part=high, kind="apex", name="z top", height_mm=300.0),
    ]
    assert [one.name for one in fold(log)[ONE].open_parts] == ["z top", "a low one"]


def test_measurements_of_a_part_its_making_and_its_looks_are_one_course() -> None:
    log = [
        entry("part", 1, kind="wound", name="old leader", values={"width": 18.0}),
        entry("measure", 2, days=1, values={"width": 16}),
        entry("look", 3, days=2, rule="wound closing", of=str(OF), values={"width": 15.0}),
    ]
    found = part(*log)
    assert found.course("width") == [
        Measure("width", value, FIRST + timedelta(days=n)) for n, value in enumerate((18.0, 16.0, 15.0))
    ]
    assert found.last("width") == Measure("width", 15.0, FIRST + timedelta(days=2))
    assert found.last("entry") is None


def test_a_measurement_of_no_part_is_of_the_tree() -> None:
    tall = replace(entry("measure", 1, values={"height": 410.0}), part_ids=())
    state = fold([tall])[ONE]
    assert state.measures == [Measure("height", 410.0, FIRST)]
    assert state.parts == {}


@pytest.mark.parametrize("kind", ["measure", "look", "work"])
def test_what_was_never_written_down_as_a_part_is_not_made_by_the_way(kind: str) -> None:
    data: dict[str, Any] = {
        "operation": "wire",
        "rule": "look at the wire",
        "of": str(OF),
        "values": {"bite": 1.0},
    }
    state = fold([entry(kind, 1, **data)])[ONE]
    assert state.parts == {}
    unknown = PARTS[ONE][0]  # it stays a part: what was done to it was not done to the whole tree
    assert [done.parts for done in state.done] == ([(unknown,)] if kind == "work" else [])
    assert [look.part for look in state.looks] == ([unknown] if kind == "look" else [])


def test_a_part_goes_with_the_entry_that_wrote_it_down() -> None:
    made = entry("part", 1, kind="wound", name="low", height_mm=40.0)
    later = [entry("part", 2, days=1, directive="watch"), entry("measure", 3, days=2, values={"width": 12.0})]
    assert part(made, *later).name == "low"
    assert fold([made, *later, void(made, 4)])[ONE].parts == {}


def test_a_look_is_of_each_part_it_names_and_well_unless_it_went_badly() -> None:
    low, high = PARTS[ONE]
    both = [entry("part", n, part=one, kind="wire", name=f"{n}") for n, one in enumerate((low, high))]
    look = replace(entry("look", 5, days=1, rule="look at the wire", of=str(OF)), part_ids=(low, high))
    bad = entry("look", 6, days=2, rule="look at the wire", of=str(OF), went="badly")
    day = FIRST + timedelta(days=1)
    assert fold([*both, look, bad])[ONE].looks == [
        Look("look at the wire", OF, day, well=True, part=low),
        Look("look at the wire", OF, day, well=True, part=high),
        Look("look at the wire", OF, day + timedelta(days=1), well=False, part=low),
    ]


def test_work_names_the_parts_it_was_done_to_and_what_it_took() -> None:
    made = entry("part", 1, kind="branch", name="low left")
    work = entry("work", 2, operation="cut back", share=0.4, regret="too much")
    (done,) = fold([made, work])[ONE].done
    assert (done.parts, done.share, done.regret) == ((PARTS[ONE][0],), 0.4, "too much")


def decided_of(*log: Entry) -> tuple[str, date | None]:
    found = part(*log)
    return found.decided, found.decided_on


def test_what_was_decided_last_of_a_part_counts_and_may_be_taken_back() -> None:
    made = entry("part", 1, kind="wound", name="old leader")
    first, anew = entry("part", 2, days=1, decided="recut wound"), entry("part", 3, days=2, decided="unwire")
    back = entry("part", 4, days=3, decided="")
    assert decided_of(made) == ("", None)
    assert decided_of(made, first) == ("recut wound", FIRST + timedelta(days=1))
    assert decided_of(made, first, anew) == ("unwire", FIRST + timedelta(days=2))
    assert part(made, first, anew).decided_in == anew.id
    assert decided_of(made, first, anew, back) == ("", None)
    assert decided_of(made, first, anew, void(anew, 5)) == decided_of(made, first)


def test_a_decision_ends_as_its_work_is_done_to_the_part_and_comes_back_as_that_is_voided() -> None:
    made, decided = (
        entry("part", 1, kind="graft", name="low"),
        entry("part", 2, days=1, decided="sever graft"),
    )
    other = entry("work", 3, days=2, operation="cut back")
    elsewhere = entry("work", 4, days=2, part=PARTS[ONE][1], operation="sever graft")
    whole = replace(entry("work", 5, days=2, operation="sever graft"), part_ids=())
    assert decided_of(made, decided, other, elsewhere, whole)[0] == "sever graft"
    done = entry("work", 6, days=3, operation="sever graft")
    found = part(made, decided, done)
    assert (found.decided, found.decided_on, found.decided_in) == ("", None, None)
    assert found.carried_out == [Decision("sever graft", decided.happened, decided.id, done.happened)]
    assert decided_of(made, decided, done, void(done, 7))[0] == "sever graft"
    before = entry("work", 0, days=1, operation="sever graft")
    assert decided_of(made, before, decided)[0] == "sever graft"


def test_wire_that_is_taken_off_a_tree_is_off_its_parts() -> None:
    made, decided = entry("part", 1, kind="wire", name="low"), entry("part", 2, decided="unwire")
    whole = replace(entry("work", 3, days=1, operation="unwire"), part_ids=())
    assert part(made, decided, whole).decided == ""


def test_a_part_of_which_work_is_decided_is_undecided_no_more() -> None:
    made = entry("part", 1, kind="branch", name="low", directive="undecided")
    assert part(made, entry("part", 2, days=1, decided="")).directive == "undecided"
    found = part(made, entry("part", 2, days=1, decided="structural prune"))
    assert (found.directive, found.directed) == ("no directive", FIRST + timedelta(days=1))
