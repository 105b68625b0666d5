"""Items that are kept: what comes out is what went in, and a new entry forgets those of its trees."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.garden.model import Entry
from calendar_core.planning.items import Follows, Item, Range, Reason
from calendar_core.storage import kept, log
from tests.made_entries import LEAST

if TYPE_CHECKING:
    from calendar_core.garden.model import Garden, Tree
    from calendar_core.storage.engine import Store

DAYS = st.dates(date(1, 1, 1), date(9999, 12, 31))
TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
VALUES = (
    st.none() | st.integers(-(2**53), 2**53) | st.floats(allow_nan=False, allow_infinity=False) | TEXTS | DAYS
)
REASONS = st.builds(
    Reason, TEXTS, subject=TEXTS, found=VALUES, needed=VALUES, days=st.floats(-400, 400), note=TEXTS
)
RANGES = st.builds(Range, DAYS, DAYS, DAYS)
ITEMS = st.builds(
    Item,
    opens=RANGES,
    closes=RANGES,
    chance=st.floats(0, 1),
    reasons=st.lists(REASONS, max_size=3).map(tuple),
    cautions=st.lists(TEXTS, max_size=3).map(tuple),
    measure=st.lists(TEXTS, max_size=2).map(tuple),
    part_id=st.none() | st.uuids(),
    follows=st.none() | st.builds(Follows, TEXTS, st.uuids(), st.none() | st.uuids()),
)


@given(ITEMS)
def test_an_item_comes_out_as_it_went_in(item: Item) -> None:
    out = kept.unpacked(item.id, item.tree_id, kept.packed(item))
    assert out == item
    assert [type(r.found) for r in out.reasons] == [type(r.found) for r in item.reasons]


def _item(tree: Tree, opens: date, rule: str = "repot") -> Item:
    days = Range(opens, opens, opens + timedelta(days=20))
    reason = Reason("overdue", found=opens, needed=3.0)
    return Item(
        uuid4(), tree.id, tree.species, rule, rule, 2015, "structure", days, days, 0.8, "due", "How.", (reason,)
    )  # fmt: skip


@pytest.fixture
def items(store: Store, garden: Garden, trees: tuple[Tree, ...]) -> list[Item]:
    """Keep an item that opens on 1 March for the first tree and on 1 May for the others."""
    made = [_item(tree, date(2015, 5 if n else 3, 1)) for n, tree in enumerate(trees)]
    with store.begin() as connection:
        kept.keep(connection, garden.id, "today", [tree.id for tree in trees], made)
    return made


def test_items_that_may_share_an_event_come_together(
    store: Store, garden: Garden, trees: tuple[Tree, ...], items: list[Item]
) -> None:
    kin = {item.id for item in items if item.species == items[0].species}
    with store.read() as connection:
        assert kept.kept_items(connection, garden.id, date(2015, 2, 28)) == []
        assert {one.id for one in kept.kept_items(connection, garden.id, date(2015, 3, 1))} == kin
        assert {one.id for one in kept.kept_items(connection, garden.id, date(2015, 5, 1))} == {
            i.id for i in items
        }
        assert kept.kept_trees(connection, garden.id, "today") == {tree.id for tree in trees}
        assert kept.kept_trees(connection, garden.id, "tomorrow") == set()
        assert kept.kept_items(connection, uuid4(), date(2015, 5, 1)) == []


def test_keeping_again_replaces(
    store: Store, garden: Garden, trees: tuple[Tree, ...], items: list[Item]
) -> None:
    newer = replace(items[0], chance=0.6)
    with store.begin() as connection:
        kept.keep(connection, garden.id, "tomorrow", [trees[0].id], [newer])
    with store.read() as connection:
        found = kept.kept_items(connection, garden.id, date(2015, 5, 1))
        assert newer in found
        assert len(found) == len(items)
        assert kept.kept_trees(connection, garden.id, "tomorrow") == {trees[0].id}


def test_an_entry_and_its_void_forget_their_trees(
    store: Store, garden: Garden, trees: tuple[Tree, ...], items: list[Item]
) -> None:
    entry = Entry(
        uuid4(), garden.id, (trees[0].id,), date(2015, 3, 2), datetime(2015, 3, 2, tzinfo=UTC), "Ines", "work",
        {"operation": "repot"},
    )  # fmt: skip
    with store.begin() as connection:
        log.append(connection, [entry])
        assert kept.kept_trees(connection, garden.id, "today") == {tree.id for tree in trees[1:]}
        kept.keep(connection, garden.id, "today", [trees[0].id], [items[0]])
        log.append(connection, [entry])  # a repeat changes nothing, and forgets nothing
        assert trees[0].id in kept.kept_trees(connection, garden.id, "today")
        log.append(connection, [replace(entry, id=uuid4(), tree_ids=(trees[1].id,), voids=entry.id)])
        assert kept.kept_trees(connection, garden.id, "today") == {tree.id for tree in trees[2:]}
        log.append(connection, [replace(entry, id=uuid4(), tree_ids=(), kind="choice", data=LEAST["choice"])])
        assert kept.kept_trees(connection, garden.id, "today") == set()


def test_the_log_of_some_trees_is_what_names_them_and_what_names_none(
    store: Store, garden: Garden, trees: tuple[Tree, ...]
) -> None:
    first, second = trees[:2]
    now = datetime(2015, 3, 2, tzinfo=UTC)
    of_first = Entry(
        uuid4(), garden.id, (first.id,), date(2015, 3, 2), now, "Ines", "work", {"operation": "wire"}
    )
    of_both = replace(of_first, id=uuid4(), tree_ids=(second.id, first.id))
    of_none = replace(of_first, id=uuid4(), tree_ids=(), kind="choice", data=LEAST["choice"])
    void = replace(of_first, id=uuid4(), tree_ids=(second.id,), voids=of_both.id)
    with store.begin() as connection:
        log.append(connection, [of_first, of_both, of_none, void])
    wanted = {
        (second.id,): {of_both.id, of_none.id, void.id},
        (first.id,): {of_first.id, of_both.id, of_none.id, void.id},
        (): {of_none.id, void.id},
    }
    with store.read() as connection:
        whole = {entry.id: entry for entry in log.entries(connection, garden.id)}
        for ids, known in wanted.items():
            found = log.entries(connection, garden.id, trees=ids)
            assert {entry.id for entry in found} == known
            assert all(entry == whole[entry.id] for entry in found)
