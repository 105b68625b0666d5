"""What subscribers were told is kept whole: RFC 5545 needs the SEQUENCE and LAST-MODIFIED of each."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from typing import TYPE_CHECKING
from uuid import UUID

from calendar_core.planning.events import PublishedEvent
from calendar_core.storage import gardens, published

if TYPE_CHECKING:
    from collections.abc import Callable

    from calendar_core.garden.model import Garden, Tree
    from calendar_core.storage.engine import Store


def _event(number: int, start: date, trees: tuple[Tree, ...]) -> PublishedEvent:
    return PublishedEvent(
        uid=UUID(int=number),
        group="pinch|maple|refinement",
        cycle=2015,
        tree_ids=tuple(tree.id for tree in trees),
        start=start,
        end=start + timedelta(days=9),
        summary="Pinch; maples, 2",
        description="Why: new growth\nhas two pairs, “8 times in 10”",
        reminder="Pinch 2 maples",
        categories=("pinch", "ahorn, rot"),
        status="TENTATIVE",
        sequence=3,
        created_at=datetime(2015, 4, 1, 6, tzinfo=UTC),
        revised_at=datetime(2015, 5, 1, 6, 30, 5, tzinfo=UTC),
        dates_changed=date(2015, 4, 20),
        text_changed=date(2015, 5, 1),
    )


def test_events_come_back_by_start(store: Store, garden: Garden, trees: tuple[Tree, ...]) -> None:
    later, sooner = _event(1, date(2015, 6, 1), trees), _event(2, date(2015, 5, 20), trees[::-1])
    same_day = _event(3, date(2015, 6, 1), ())
    with store.begin() as connection:
        published.save(connection, garden.id, [same_day, later, sooner])
    with store.read() as connection:
        assert published.load(connection, garden.id) == (sooner, later, same_day)


def test_a_changed_event_replaces_itself_and_a_removed_one_goes(
    store: Store, garden: Garden, trees: tuple[Tree, ...]
) -> None:
    kept, changed, removed = (_event(n, date(2015, 6, n), trees) for n in (1, 2, 3))
    told = replace(changed, sequence=4, status="CANCELLED", revised_at=changed.revised_at + timedelta(days=1))
    with store.begin() as connection:
        published.save(connection, garden.id, [kept, changed, removed])
        published.save(connection, garden.id, [told], removed=[removed.uid])
        published.save(connection, garden.id, [])
    with store.read() as connection:
        assert published.load(connection, garden.id) == (kept, told)
        assert published.load_gone(connection, garden.id) == {removed.uid: removed}
    with store.begin() as connection:
        published.save(connection, garden.id, [removed])
        assert published.load_gone(connection, garden.id) == {}


def test_another_gardens_events_are_left_alone(
    store: Store, garden: Garden, trees: tuple[Tree, ...], make_garden: Callable[..., Garden]
) -> None:
    event = _event(1, date(2015, 6, 1), trees)
    with store.begin() as connection:
        gardens.add_garden(connection, second := make_garden("Second"))
        published.save(connection, garden.id, [event])
        published.save(connection, second.id, [], removed=[event.uid])
        assert published.load(connection, second.id) == ()
        assert published.load(connection, garden.id) == (event,)


def test_instants_come_back_in_utc(store: Store, garden: Garden) -> None:
    at = datetime(2015, 5, 1, 12, tzinfo=timezone(timedelta(hours=5)))
    with store.begin() as connection:
        published.save(connection, garden.id, [replace(_event(1, date(2015, 6, 1), ()), revised_at=at)])
        (event,) = published.load(connection, garden.id)
    assert event.revised_at.isoformat() == "2015-05-01T07:00:00+00:00"


def test_a_tree_keeps_its_event(store: Store, garden: Garden, trees: tuple[Tree, ...]) -> None:
    group, alone = UUID(int=1), UUID(int=2)
    maple, pine = (("pinch|refinement", 2015, tree.id) for tree in trees)
    next_cycle = ("pinch|refinement", 2016, trees[0].id)
    with store.begin() as connection:
        published.save(connection, garden.id, [_event(1, date(2015, 6, 1), trees)])
        published.save_members(connection, garden.id, {maple: group, pine: group})
        published.save_members(connection, garden.id, {pine: alone, next_cycle: group})
        published.save_members(connection, garden.id, {})
        published.save(connection, garden.id, [], removed=[group])
    with store.read() as connection:
        assert published.load_members(connection, garden.id) == {maple: group, pine: alone, next_cycle: group}
