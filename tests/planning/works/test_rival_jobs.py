"""What stands in each other's way: items an earlier one makes needless, and heavy jobs of one cycle."""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING, Any
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.state import TreeState, Wish
from calendar_core.planning.items import Item, Range, item_id
from calendar_core.planning.works.heavy_jobs import SURE_ENOUGH, Kept, one_heavy_job, settle
from tests.planning.made_up import knowledge

if TYPE_CHECKING:
    from collections.abc import Sequence

GARDEN, ONE, OTHER = UUID(int=1), UUID(int=2), UUID(int=3)


def item(cycle: int, rule: str = "repot", tree: UUID = ONE, **keys: Any) -> Item:
    """A due item of a spring."""
    day = date(cycle, 3, 20)
    values: dict[str, Any] = {
        "id": item_id(GARDEN, tree, rule, cycle),
        "tree_id": tree,
        "species": "acer-palmatum",
        "operation": rule,
        "rule": rule,
        "cycle": cycle,
        "aim": "structure",
        "opens": Range(day, day, day),
        "closes": Range(day, day, day),
        "chance": 1.0,
        "status": "due",
        "how": "made up",
        "reasons": (),
    }
    return Item(**{**values, **keys})


def every(years: int, *items: Item) -> dict[UUID, int]:
    return {one.id: years for one in items}


def settled(items: Sequence[Item], years: dict[UUID, int]) -> Kept:
    """Settle items, with a wish for its own cycle behind every wished one."""
    wishes = [Wish(one.operation, one.cycle) for one in items if one.status == "wished"]
    states = {tree: TreeState(wishes=wishes) for tree in (ONE, OTHER)}
    return settle(items, years, knowledge(), states)


# Every so many years


@pytest.mark.parametrize(
    ("years", "kept"),
    [
        (3, [2015, 2018]),  # repotting of a medium maple
        (2, [2015, 2017]),  # a full cycle of rest between two, as for full defoliation
        (0, [2015, 2016, 2017, 2018]),  # yearly
    ],
)
def test_what_comes_every_so_many_years_is_planned_once_in_them(years: int, kept: list[int]) -> None:
    spring = [item(cycle) for cycle in range(2015, 2019)]
    found, needless = settled(spring[::-1], every(years, *spring))
    assert [one.cycle for one in found] == kept
    assert sorted([one.cycle for one in needless] + kept) == [2015, 2016, 2017, 2018]


def test_the_reason_names_the_day_of_the_earlier_one() -> None:
    both = item(2015), item(2016)
    _, (needless,) = settled(both, every(3, *both))
    (reason,) = needless.reasons
    assert (reason.code, reason.subject, reason.found) == ("planned_before", "repot", date(2015, 3, 20))
    assert (needless.tree_id, needless.rule, needless.cycle) == (ONE, "repot", 2016)


@pytest.mark.parametrize(
    "first",
    [
        item(2015, chance=SURE_ENOUGH - 0.01),
        item(2015, status="possible"),
        item(2015, tree=OTHER),
        item(2015, "wire"),
    ],
    ids=["unlikely", "possible", "another tree", "another rule"],
)
def test_only_a_likely_planned_one_of_the_same_tree_and_rule_makes_needless(first: Item) -> None:
    both = first, item(2016)
    assert settled(both, every(3, *both)) == (list(both), [])


def test_what_was_wished_for_a_cycle_stays_and_does_for_the_years_after() -> None:
    due, wished, later = item(2014), item(2015, status="wished"), item(2016)
    found, needless = settled([due, wished, later], every(3, due, wished, later))
    assert found == [due, wished]
    assert [one.cycle for one in needless] == [2016]


springs = st.lists(
    st.builds(
        lambda cycle, tree, rule, chance, status: item(cycle, rule, tree, chance=chance, status=status),
        st.integers(2014, 2018),
        st.sampled_from((ONE, OTHER)),
        st.sampled_from(("repot", "wire")),
        st.sampled_from((0.3, 0.5, 1.0)),
        st.sampled_from(("due", "possible")),
    ),
    max_size=12,
    unique_by=lambda one: one.id,
)


@given(springs, st.integers(0, 4), st.randoms())
@settings(max_examples=60, deadline=None)
def test_nothing_is_lost_and_planned_ones_keep_their_distance(
    items: list[Item], years: int, random: Any
) -> None:
    found, needless = settled(items, every(years, *items))
    named = [(one.tree_id, one.rule, one.cycle) for one in found]
    named += [(one.tree_id, one.rule, one.cycle) for one in needless]
    assert sorted(named) == sorted((one.tree_id, one.rule, one.cycle) for one in items)
    planned: dict[tuple[UUID, str], list[int]] = {}
    for one in found:
        if one.status == "due" and one.chance >= SURE_ENOUGH:
            planned.setdefault((one.tree_id, one.rule), []).append(one.cycle)
    assert all(b - a >= years for cycles in planned.values() for a, b in pairwise(cycles))
    random.shuffle(items)
    again, _ = settled(items, every(years, *items))
    assert {one.id for one in again} == {one.id for one in found}


# Heavy jobs


def kept(*items: Item, wishes: tuple[Wish, ...] = ()) -> set[str]:
    states = {tree: TreeState(wishes=list(wishes)) for tree in (ONE, OTHER)}
    found, crowded = one_heavy_job(items, knowledge(), states)
    assert all([reason.code for reason in one.reasons] == ["one_heavy_job"] for one in crowded)
    assert len(found) + len(crowded) == len(items)
    return {one.operation for one in found}


def test_of_two_heavy_jobs_one_is_kept() -> None:
    repot, prune = item(2015), item(2015, "structural prune", status="wished")
    assert kept(repot, prune) == {"structural prune"}
    assert kept(repot, item(2015, "decandling")) == {"repot"}  # it takes more out of the tree
    assert kept(repot, item(2015, "wire")) == {"repot", "wire"}


@pytest.mark.parametrize(
    "other",
    [
        item(2016, "structural prune"),
        item(2015, "structural prune", OTHER),
        item(2015, "structural prune", chance=SURE_ENOUGH - 0.01),
        item(2015, "structural prune", status="possible"),
    ],
    ids=["another cycle", "another tree", "unlikely", "possible"],
)
def test_what_is_no_rival_stays(other: Item) -> None:
    assert kept(item(2015), other) == {"repot", "structural prune"}


@pytest.mark.parametrize(("cycle", "both"), [(None, True), (2015, True), (2016, False)])
def test_asked_for_anyway_it_stands_beside_the_other(cycle: int | None, both: bool) -> None:
    prune = item(2015, "structural prune", status="wished")
    found = kept(item(2015), prune, wishes=(Wish("structural prune", cycle, anyway=True),))
    assert found == ({"repot", "structural prune"} if both else {"structural prune"})
