"""Addresses, kept bytes and places of subscribed calendars, on both databases."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid4

from calendar_core.planning.events import CalendarOf
from calendar_core.storage import calendar_addresses, calendar_places, calendar_texts, gardens
from calendar_core.storage.calendar_addresses import CalendarAddress
from calendar_core.storage.calendar_places import CalendarPlace

if TYPE_CHECKING:
    from collections.abc import Callable

    from calendar_core.garden.model import Garden
    from calendar_core.storage.engine import Store

NOW = datetime(2026, 5, 1, 9, 30, 0, 250_000, tzinfo=UTC)
WORK, TREE = CalendarOf("work"), CalendarOf("tree", UUID(int=3))


def address(garden: Garden, secret: str = "s", of: CalendarOf = WORK) -> CalendarAddress:  # noqa: S107 - invented
    digest = hashlib.sha256(secret.encode()).hexdigest()
    return CalendarAddress(uuid4(), garden.id, of.kind, of.tree_id, "phone", digest, NOW)


def test_an_address_is_found_by_its_hash_and_stays_known_when_it_is_revoked(
    store: Store, garden: Garden
) -> None:
    first, second = address(garden, "a"), address(garden, "b", TREE)
    with store.begin() as connection:
        for one in (first, second):
            calendar_addresses.add_address(connection, one)
        calendar_addresses.revoke_address(connection, second.id, NOW)
        calendar_addresses.revoke_address(connection, second.id, NOW + timedelta(days=1))
        calendar_addresses.note_use(connection, first.id, NOW)
    with store.read() as connection:
        found = calendar_addresses.find_address(connection, second.secret_hash)
        listed = calendar_addresses.list_addresses(connection, garden.id)
        assert calendar_addresses.find_address(connection, "c") is None
    assert found is not None
    assert (found.of, found.revoked_at) == (TREE, NOW)
    assert {one.id: one.last_used for one in listed} == {first.id: NOW, second.id: None}


def test_bytes_that_are_the_same_keep_their_tag_and_moment(store: Store, garden: Garden) -> None:
    def put(data: bytes, mark: str, now: datetime) -> calendar_texts.CalendarText:
        with store.begin() as connection:
            calendar_texts.put_texts(connection, garden.id, {TREE: data}, mark, now)
            found = calendar_texts.get_text(connection, garden.id, TREE)
            assert calendar_texts.made_from(connection, garden.id) == {f"tree {UUID(int=3)}": mark}
        assert found is not None
        return found

    first = put(b"a", "1", NOW)
    assert first.modified_at == NOW.replace(microsecond=0)
    again = put(b"a", "2", NOW + timedelta(hours=1))
    assert (again.etag, again.modified_at, again.made_from) == (first.etag, first.modified_at, "2")
    changed = put(b"b", "3", NOW - timedelta(hours=1))  # by a clock that was set back
    assert changed.etag != first.etag
    assert changed.modified_at > first.modified_at
    with store.read() as connection:
        assert calendar_texts.tag_of(connection, garden.id, TREE) == changed.etag
        assert calendar_texts.tag_of(connection, garden.id, WORK) == ""


def test_a_place_is_of_one_garden(store: Store, garden: Garden, make_garden: Callable[..., Garden]) -> None:
    other = make_garden("Roof")
    place = CalendarPlace(uuid4(), garden.id, "/srv/care", "", NOW, {})
    with store.begin() as connection:
        gardens.add_garden(connection, other)
        assert calendar_places.put_place(connection, place)
        calendar_places.note_sent(connection, place.id, {"work": "tag"}, "disk full")
        assert not calendar_places.put_place(
            connection, CalendarPlace(uuid4(), other.id, "/srv/care", "", NOW, {})
        )
        (found,) = calendar_places.list_places(connection, garden.id)
        assert (found.sent, found.why_failing) == ({"work": "tag"}, "disk full")
        again = CalendarPlace(uuid4(), garden.id, "/srv/care", "ines:x", NOW, {})
        assert calendar_places.put_place(connection, again)
        (found,) = calendar_places.list_places(connection, garden.id)
        assert (found.id, found.login, found.sent) == (place.id, "ines:x", {})
        assert not calendar_places.remove_place(connection, other.id, "/srv/care")
        assert calendar_places.remove_place(connection, garden.id, "/srv/care")
        assert calendar_places.list_places(connection, garden.id) == ()
