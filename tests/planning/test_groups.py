"""Trees that share an event of the calendar, and those that have drifted out of one."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.state import TreeState
from calendar_core.planning.groups import DRIFT_DAYS, Member, group_items, lines_of, members, published_items
from calendar_core.planning.items import PUBLISH_FROM, Item, Range, Reason, item_id
from calendar_core.planning.works.heavy_jobs import one_heavy_job
from tests.planning.made_up import knowledge

GARDEN = UUID(int=1)
FIRST = date(2015, 6, 1)


def item(tree: int, day: int = 0, *, length: int = 30, early: int = 0, **keys: Any) -> Item:
    """An item of a tree that likely opens on a day and is ``length`` days open, surely until ``early`` before that."""
    opens, closes = FIRST + timedelta(days=day), FIRST + timedelta(days=day + length)
    values: dict[str, Any] = {
        "id": item_id(GARDEN, UUID(int=tree), "pinch", 2015),
        "tree_id": UUID(int=tree),
        "species": "acer-palmatum",
        "operation": "pinch",
        "rule": "pinch",
        "cycle": 2015,
        "aim": "refinement",
        "opens": Range(opens, opens, opens),
        "closes": Range(closes - timedelta(days=early), closes, closes),
        "chance": 1.0,
        "status": "due",
        "how": "made up",
        "reasons": (),
    }
    return Item(**{**values, **keys})


def told(items: list[Item], known: dict[Member, UUID]) -> list[Item]:
    """What subscribers are told of trees without a log."""
    return published_items(items, known, knowledge(), {one.tree_id: TreeState() for one in items})


@pytest.mark.parametrize(
    ("keys", "is_told"),
    [
        ({"status": "due"}, True),
        ({"status": "wished"}, True),
        ({"status": "possible"}, False),
        ({"chance": PUBLISH_FROM}, True),
        ({"chance": PUBLISH_FROM - 0.01}, False),
    ],
)
def test_what_is_due_or_wished_and_likely_is_told(keys: dict[str, Any], is_told: bool) -> None:
    assert bool(told([item(1, **keys)], {})) == is_told


def test_what_was_told_is_not_taken_back_for_a_little() -> None:
    one = item(1, chance=0.4)
    assert told([one], {}) == []
    assert told([one], {(one.rule, one.cycle, one.tree_id): UUID(int=5)}) == [one]
    gone = item(1, chance=0.1)
    assert told([gone], {(gone.rule, gone.cycle, gone.tree_id): UUID(int=5)}) == []


def test_a_heavy_job_that_was_told_keeps_its_place_while_its_chance_is_about_a_half() -> None:
    """Repotting by interval goes before the yearly programme; the plan leaves it out of the contest under a half."""
    interval = (Reason("interval"),)
    prune = item(1, operation="structural prune", rule="structural prune", id=UUID(int=8))
    known: dict[Member, UUID] = {}
    seen = []
    for chance in (0.52, 0.48, 0.52, 0.36, 0.30, 0.48):
        repot = item(1, operation="repot", rule="repot", id=UUID(int=9), chance=chance, reasons=interval)
        plan, _ = one_heavy_job([repot, prune], knowledge(), {repot.tree_id: TreeState()})
        found = told(plan, known)
        known = members(group_items(GARDEN, found, known))
        seen.append([one.operation for one in found])
    assert seen == [["repot"]] * 4 + [["structural prune"]] * 2


def test_trees_of_a_rule_share_an_event() -> None:
    (event,) = group_items(GARDEN, [item(1), item(2, 4), item(3, 9)], {})
    assert len(event.items) == 3
    assert (event.start, event.end) == (FIRST, FIRST + timedelta(days=30))


def test_a_tree_whose_time_comes_as_the_others_are_over_has_an_event_of_its_own() -> None:
    """Large pines are decandled first, small ones last (config/kinds/two-flush-pine.toml): a window of ten days each.

    One event of both was over four days before it was time for the small ones.
    """
    large = [item(tree, length=10, early=9) for tree in (1, 2)]
    small = [item(tree, 10, length=12, early=16) for tree in (3, 4)]
    apart = group_items(GARDEN, [*large, *small], {})
    told = {(e.start, e.end): {one.tree_id.int for one in e.items} for e in apart}
    week = timedelta(days=6)
    later = FIRST + timedelta(days=10)
    assert told == {(FIRST, FIRST + week): {1, 2}, (later, later + week): {3, 4}}
    again = group_items(GARDEN, [*large, *small], members(apart))
    assert {e.uid: e.items for e in again} == {e.uid: e.items for e in apart}


def test_a_nursery_whose_trees_never_meet_is_grouped_all_the_same() -> None:
    many = [item(n, 30 * n) for n in range(1500)]  # no two in one event
    assert len(group_items(GARDEN, many, {})) == len(many)


def test_who_leaves_the_event_of_a_tree_that_left_before_finds_a_name() -> None:
    """The tree that an event is named after leaves it last: its own name is taken, as is that of all."""
    first = group_items(GARDEN, [item(1), item(2), item(3, 30), item(4, 30)], {})
    known = members(first)
    (left,) = (event for event in first if event.start > FIRST)
    named = next(one for one in left.items if one.id == left.uid)
    other = next(one for one in left.items if one.id != left.uid)
    moved = item(named.tree_id.int, 60)
    found = group_items(
        GARDEN,
        [item(1), item(2), other, item(9, 30), moved],
        {**known, ("pinch", 2015, UUID(int=9)): left.uid},
    )
    assert sorted(len(event.items) for event in found) == [1, 2, 2]
    assert len({event.uid for event in found}) == 3


@pytest.mark.parametrize("key", ["rule", "species", "cycle"])
def test_other_rules_species_and_cycles_have_events_of_their_own(key: str) -> None:
    other: dict[str, Any] = {"rule": "wire", "species": "pinus-thunbergii", "cycle": 2016}
    assert len(group_items(GARDEN, [item(1), replace(item(2), **{key: other[key]})], {})) == 2


def test_a_tree_that_drifts_gets_its_own_event_and_keeps_it() -> None:
    near = [item(1), item(2)]
    together = group_items(GARDEN, [*near, item(3, DRIFT_DAYS)], {})
    assert len(together) == 1
    apart = group_items(GARDEN, [*near, item(3, DRIFT_DAYS + 1)], members(together))
    assert sorted(len(event.items) for event in apart) == [1, 2]
    alone = next(event for event in apart if len(event.items) == 1)
    assert alone.uid == item(3).id
    back = group_items(GARDEN, [*near, item(3)], members(apart))
    assert {event.uid for event in back} == {event.uid for event in apart}


def waiting(tree: int, day: int, weeks: float = 2.0, code: str = "again") -> Item:
    """An item that opens on a day because work was done so many weeks before."""
    done = FIRST + timedelta(days=day) - timedelta(weeks=weeks)
    return item(tree, day, reasons=(Reason(code, "feeding", done, weeks, "wk"),))


def lines(items: list[Item], known: dict[Member, UUID] | None = None) -> dict[date, set[int]]:
    """The trees of each event by its start."""
    events = group_items(GARDEN, items, known or {})
    return {event.start: {one.tree_id.int for one in event.items} for event in events}


@pytest.mark.parametrize("code", ["hold", "again", "leaves_back"])
def test_a_tree_that_waits_is_told_apart_from_those_that_are_open(code: str) -> None:
    """Within its wait of four weeks a repotted tree is not fertilized (Boon, April 2011), whoever else is."""
    later = FIRST + timedelta(days=5)
    assert lines([item(1), waiting(2, 5, 4.0, code), item(3)]) == {FIRST: {1, 3}, later: {2}}


def test_trees_that_wait_for_the_same_day_share_an_event_and_find_each_other_again() -> None:
    first, all_fed = [item(1), item(2), item(3)], [waiting(tree, 9) for tree in (1, 2, 3)]
    (begun,) = group_items(GARDEN, first, {})
    some = [item(1), waiting(2, 5), waiting(3, 5)]
    apart = group_items(GARDEN, some, members([begun]))
    assert lines(some, members([begun])) == {FIRST: {1}, FIRST + timedelta(days=5): {2, 3}}
    assert begun.uid in {event.uid for event in apart}
    assert lines(all_fed, members(apart)) == {FIRST + timedelta(days=9): {1, 2, 3}}


def test_who_shared_an_event_and_no_longer_waits_does_not_stay_in_it_if_it_drifts() -> None:
    pair = group_items(GARDEN, [item(1), waiting(2, 20), waiting(3, 20)], {})
    known = members(pair)
    found = group_items(GARDEN, [item(1), waiting(2, 20), item(3, 40)], known)
    assert sorted(len(event.items) for event in found) == [1, 1, 1]


def test_looks_at_two_parts_of_a_tree_share_an_event_until_one_drifts_and_both_keep_theirs() -> None:
    low = item(1, rule="look#1a.1@low", id=UUID(int=8))
    high = item(1, rule="look#1a.1@high", id=UUID(int=9))
    (together,) = group_items(GARDEN, [low, high], {})
    late = replace(
        high, opens=Range(*[FIRST + timedelta(days=45)] * 3), closes=Range(*[FIRST + timedelta(days=60)] * 3)
    )
    apart = group_items(GARDEN, [low, late], members([together]))
    assert {event.uid for event in apart} == {together.uid, late.id}
    again = group_items(GARDEN, [low, late], members(apart))
    assert [(event.uid, event.items) for event in again] == [(event.uid, event.items) for event in apart]


def test_a_line_of_today_holds_only_trees_that_are_open_or_only_those_that_are_not() -> None:
    """The calendar's event keeps both: a tree comes into its window within days of the others."""
    (event,) = group_items(GARDEN, [item(1), item(2), item(3, 8)], {})
    for day, expected in ((-1, [{1, 2, 3}]), (0, [{1, 2}, {3}]), (7, [{1, 2}, {3}]), (8, [{1, 2, 3}])):
        today = FIRST + timedelta(days=day)
        found = lines_of([event], today)
        assert [{one.tree_id.int for one in line.items} for line in found] == expected
        assert {line.uid for line in found} == {event.uid}
        assert len(found) == 1 or found[0].start <= today < found[1].start


def test_an_event_ends_when_it_is_safe_for_all_its_trees() -> None:
    (event,) = group_items(GARDEN, [item(1), item(2, early=DRIFT_DAYS)], {})
    assert event.end == FIRST + timedelta(days=30 - DRIFT_DAYS)


def test_a_tree_that_is_safe_for_longer_does_not_end_with_one_whose_safe_day_has_passed() -> None:
    seen, unseen = item(1), item(2, early=DRIFT_DAYS + 1)
    ends = {event.items[0].tree_id: event.end for event in group_items(GARDEN, [seen, unseen], {})}
    assert ends == {seen.tree_id: seen.closes.early, unseen.tree_id: unseen.closes.early}


days = st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40), st.integers(0, 20)), min_size=1, max_size=8)


@given(days, st.randoms())
@settings(max_examples=80, deadline=None)
def test_every_tree_is_in_one_event_whatever_the_order(
    spans: list[tuple[int, int, int]], random: Any
) -> None:
    made = [
        item(n, day, length=length, early=min(early, length)) for n, (day, length, early) in enumerate(spans)
    ]
    events = group_items(GARDEN, made, {})
    told = [one.tree_id for event in events for one in event.items]
    assert sorted(told) == sorted(one.tree_id for one in made)
    for event in events:
        assert event.start == min(one.opens.likely for one in event.items)
        assert event.end >= min(one.closes.early for one in event.items)
        for one in event.items:  # it is there in the time of each of its trees
            days = min(7, (one.closes.likely - one.opens.likely).days + 1)
            assert one.opens.likely + timedelta(days=days - 1) <= event.end
            assert event.end <= max(one.closes.early, one.opens.likely + timedelta(days=days - 1))
    random.shuffle(made)
    again = group_items(GARDEN, made, {})
    assert [(e.uid, e.start, e.end) for e in again] == [(e.uid, e.start, e.end) for e in events]


def test_trees_that_tie_keep_their_event_whatever_the_order() -> None:
    """None of them is near the middle of all, and two are over first."""
    spans = [(0, 0), (0, 0), (0, 22), (11, 0), (11, 0)]
    made = [item(n, day, length=length) for n, (day, length) in enumerate(spans)]
    found = {
        tuple((event.uid, event.start, event.end) for event in group_items(GARDEN, some, {}))
        for some in permutations(made)
    }
    assert len(found) == 1
