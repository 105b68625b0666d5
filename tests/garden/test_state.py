"""The state of a tree is a fold over its log: order of storage, voids, repeats and later days."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid5

from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.model import Entry
from calendar_core.garden.state import Done, TreeState, Wish, states, valid_entries
from calendar_core.knowledge.words import AIMS, POT_KINDS, SIZES

if TYPE_CHECKING:
    from calendar_core.garden.model import EntryKind

GARDEN, ONE, OTHER = UUID(int=1), UUID(int=2), UUID(int=3)
SPOTS = (UUID(int=4), UUID(int=5))
ITEMS = (UUID(int=6), UUID(int=7))
FIRST, ON = date(2015, 1, 1), date(2015, 12, 31)
OPERATIONS = ("repot", "wire")

changes = st.fixed_dictionaries(
    {},
    optional={
        "aim": st.sampled_from(AIMS),
        "vigour": st.integers(1, 5),
        "size": st.sampled_from(SIZES),
        "spot": st.sampled_from(SPOTS).map(str),
        "pot": st.sampled_from(POT_KINDS),
        "pot_litres": st.floats(0.1, 50),
    },
)
contents = st.one_of(
    st.tuples(st.just("state"), changes),
    st.tuples(st.just("work"), st.fixed_dictionaries({"operation": st.sampled_from(OPERATIONS)})),
    st.tuples(
        st.just("seen"), st.fixed_dictionaries({"stage": st.sampled_from(("colour", "not yet colour"))})
    ),
    st.tuples(
        st.just("wish"),
        st.fixed_dictionaries(
            {"operation": st.sampled_from(OPERATIONS), "cycle": st.sampled_from((None, 2015, 2016))}
        ),
    ),
    st.tuples(
        st.just("answer"),
        st.fixed_dictionaries(
            {
                "item": st.sampled_from(ITEMS).map(str),
                "answer": st.sampled_from(("put off", "not this cycle")),
                "until": st.just("2015-06-01"),
            }
        ),
    ),
)
trees = st.sampled_from(((ONE,), (OTHER,), (ONE, OTHER)))


@st.composite
def entries(draw: st.DrawFn) -> Entry:
    """One entry of 2015, some recorded late, many on the same day."""
    kind: EntryKind
    kind, data = draw(contents)  # type: ignore[assignment]  # sampled strings lose their literal type
    happened = FIRST + timedelta(days=draw(st.integers(0, 4)))
    recorded = datetime(2015, 1, 10, tzinfo=UTC) + timedelta(hours=draw(st.integers(0, 3)))
    return Entry(draw(st.uuids()), GARDEN, draw(trees), happened, recorded, "owner", kind, data)


few = settings(max_examples=40, deadline=None)  # logs are slow to make up
logs = st.lists(entries(), max_size=12, unique_by=lambda e: e.id)


def entry(kind: EntryKind, on: date, number: int, **data: Any) -> Entry:
    recorded = datetime(2015, 1, 1, tzinfo=UTC) + timedelta(minutes=number)
    return Entry(uuid5(GARDEN, str(number)), GARDEN, (ONE,), on, recorded, "owner", kind, data)


def void(of: Entry, number: int = 900) -> Entry:
    return replace(entry(of.kind, of.happened, number), tree_ids=of.tree_ids, voids=of.id)


def state(*log: Entry, on: date = ON) -> TreeState:
    return states([ONE], log, on)[ONE]


@few
@given(logs.flatmap(lambda log: st.tuples(st.just(log), st.permutations(log))))
def test_order_of_storage_does_not_matter(both: tuple[list[Entry], list[Entry]]) -> None:
    stored, shuffled = both
    assert states([ONE, OTHER], shuffled, ON) == states([ONE, OTHER], stored, ON)


@few
@given(logs.filter(bool), st.data())
def test_a_void_leaves_what_there_would_be_without_its_entry(log: list[Entry], data: st.DataObject) -> None:
    gone = data.draw(st.sampled_from(log))
    kept = [e for e in log if e is not gone]
    assert states([ONE, OTHER], [*log, void(gone)], ON) == states([ONE, OTHER], kept, ON)


@few
@given(logs.filter(bool), st.data())
def test_a_repeated_entry_changes_nothing(log: list[Entry], data: st.DataObject) -> None:
    assert states([ONE, OTHER], [*log, data.draw(st.sampled_from(log))], ON) == states([ONE, OTHER], log, ON)


@few
@given(logs, st.integers(-1, 5))
def test_what_happens_later_is_not_seen(log: list[Entry], after: int) -> None:
    on = FIRST + timedelta(days=after)
    assert states([ONE], log, on) == states([ONE], [e for e in log if e.happened <= on], ON)


@few
@given(logs)
def test_entries_of_other_trees_do_not_matter(log: list[Entry]) -> None:
    assert states([ONE], log, ON)[ONE] == states([ONE], [e for e in log if ONE in e.tree_ids], ON)[ONE]


@few
@given(logs)
def test_the_last_change_of_each_kind_holds(log: list[Entry]) -> None:
    """The fold against its meaning, put otherwise: the latest entry that says something of a key holds."""
    folded = state(*log)
    for key, before in (
        ("aim", "structure"),
        ("vigour", 3),
        ("size", "medium"),
        ("pot", None),
        ("pot_litres", None),
    ):
        said = [e for e in log if ONE in e.tree_ids and e.kind == "state" and key in e.data]
        latest = max(said, key=lambda e: (e.happened, e.recorded_at, e.id), default=None)
        assert getattr(folded, key) == (before if latest is None else latest.data[key])
    assert folded.spot == (folded.moves[-1][1] if folded.moves else None)
    assert [day for day, _ in folded.moves] == sorted(day for day, _ in folded.moves)


def test_a_tree_without_a_log_is_an_ordinary_one() -> None:
    assert state() == TreeState()


def test_a_void_of_a_void_restores_nothing() -> None:
    vigour = entry("state", FIRST, 1, vigour=5)
    undo = void(vigour, 2)
    assert state(vigour, undo, void(undo, 3)).vigour == TreeState().vigour
    assert valid_entries([vigour, undo, void(undo, 3)], ON) == []


def test_a_void_counts_from_the_day_it_was_written_for() -> None:
    vigour = entry("state", FIRST, 1, vigour=5)
    undo = replace(void(vigour), happened=FIRST + timedelta(days=10))
    assert state(vigour, undo, on=FIRST + timedelta(days=9)).vigour == 5
    assert state(vigour, undo, on=FIRST + timedelta(days=10)).vigour == TreeState().vigour


def test_work_ends_the_wish_for_it_and_its_void_brings_the_wish_back() -> None:
    wishes = [
        entry("wish", FIRST, 1, operation="repot"),
        entry("wish", FIRST, 2, operation="wire", anyway=True),
    ]
    work = entry("work", FIRST, 3, operation="repot")
    assert state(*wishes, work).wishes == [Wish("wire", None, anyway=True)]
    assert state(*wishes, work).done == [Done("repot", FIRST, work.id)]
    assert state(*wishes, work, void(work)).wishes == [Wish("repot", None), Wish("wire", None, anyway=True)]


def test_a_wish_that_comes_after_the_work_stays() -> None:
    work = entry("work", FIRST, 1, operation="repot")
    wish = entry("wish", FIRST + timedelta(days=1), 2, operation="repot")
    assert state(wish, work).wishes == [Wish("repot", None, after=frozenset({work.id}))]


def test_work_of_this_cycle_leaves_the_wish_for_the_next() -> None:
    wish = entry("wish", FIRST, 1, operation="repot", cycle=2016)
    work = entry("work", date(2015, 3, 1), 2, operation="repot")
    assert state(wish, work).wishes == [Wish("repot", 2016)]


def test_stages_seen_and_looked_for_in_vain() -> None:
    log = [
        entry("seen", date(2015, 3, 1), 1, stage="not yet bud_break"),
        entry("seen", date(2015, 3, 9), 2, stage="not yet bud_break"),
        entry("seen", date(2015, 3, 15), 3, stage="bud_break"),
    ]
    assert state(*log).seen == [("bud_break", date(2015, 3, 15), log[2].recorded_at)]
    assert state(*log).not_yet == [("bud_break", date(2015, 3, 1)), ("bud_break", date(2015, 3, 9))]


def test_answers_put_items_off_or_drop_them() -> None:
    log = [
        entry("answer", FIRST, 1, item=str(ITEMS[0]), answer="put off", until="2015-05-01"),
        entry("answer", FIRST, 2, item=str(ITEMS[0]), answer="put off", until="2015-05-08"),
        entry("answer", FIRST, 3, item=str(ITEMS[1]), answer="not this cycle"),
    ]
    assert state(*log).put_off == {ITEMS[0]: date(2015, 5, 8)}
    assert state(*log).dropped == {ITEMS[1]: FIRST}


def test_an_answer_takes_the_place_of_the_one_before() -> None:
    not_this_year = entry("answer", FIRST, 1, item=str(ITEMS[0]), answer="not this cycle")
    in_a_week = entry("answer", FIRST, 2, item=str(ITEMS[0]), answer="put off", until="2015-05-08")
    after_all_not = entry("answer", FIRST, 3, item=str(ITEMS[0]), answer="not this cycle")
    assert state(not_this_year, in_a_week).dropped == {}
    assert state(not_this_year, in_a_week).put_off == {ITEMS[0]: date(2015, 5, 8)}
    assert state(not_this_year, in_a_week, after_all_not).put_off == {}
    assert state(not_this_year, in_a_week, after_all_not).dropped == {ITEMS[0]: FIRST}


def test_a_wish_asks_in_spite_of_what_was_dropped_before_it_but_not_since() -> None:
    drop = entry("answer", FIRST, 1, item=str(ITEMS[0]), answer="not this cycle")
    wish = entry("wish", FIRST, 2, operation="wire", cycle=2015)
    again = entry("answer", FIRST, 3, item=str(ITEMS[0]), answer="not this cycle")
    assert state(drop, wish).wishes == [Wish("wire", 2015, after=frozenset({ITEMS[0]}))]
    assert state(drop, wish, again).wishes == [Wish("wire", 2015)]


def test_the_last_time_is_the_latest_day_however_late_it_was_written() -> None:
    late = entry("work", date(2012, 3, 1), 9, operation="repot")
    log = [
        entry("work", date(2014, 3, 1), 1, operation="repot"),
        entry("work", FIRST, 2, operation="wire"),
        late,
    ]
    last = state(*log).last("repot")
    assert last is not None
    assert last.on == date(2014, 3, 1)
    assert state(*log).last("decandling") is None
