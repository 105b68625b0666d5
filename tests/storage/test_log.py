"""The log: whatever was appended comes back, once, in order, with its instant."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from calendar_core.garden.limits import FIRST, LAST
from calendar_core.garden.model import Entry
from calendar_core.storage import gardens, log
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Callable

    from calendar_core.garden.model import Garden, Tree
    from calendar_core.storage.engine import Store


def _entry(trees: tuple[Tree, ...], **more: Any) -> Entry:
    return replace(
        Entry(
            id=uuid4(),
            garden_id=trees[0].garden_id,
            tree_ids=tuple(tree.id for tree in trees),
            happened=date(2015, 6, 24),
            recorded_at=datetime(2015, 6, 24, 18, 5, 1, 250, tzinfo=UTC),
            who="Ines",
            kind="work",
            data={"operation": "pinch", "details": {"pairs": 2}},
        ),
        **more,
    )


def test_an_entry_comes_back_as_it_went_in(store: Store, garden: Garden, trees: tuple[Tree, ...]) -> None:
    first = _entry(trees, at=time(7, 15), part_ids=(uuid4(), uuid4()))
    void = _entry(trees[::-1], voids=first.id, recorded_at=first.recorded_at + timedelta(hours=1))
    whole_garden = _entry(trees, tree_ids=(), happened=date(2015, 6, 25))
    with store.begin() as connection:
        assert log.append(connection, [whole_garden, void, first]) == 3
        assert log.append(connection, []) == 0
    with store.read() as connection:
        assert log.entries(connection, garden.id) == (first, void, whole_garden)
        assert log.entries(connection, garden.id, upto=date(2015, 6, 24)) == (first, void)
        assert log.entries(connection, garden.id, upto=date(2015, 6, 23)) == ()
        assert log.entries(connection, uuid4()) == ()


def test_data_keeps_even_a_zero_byte(store: Store, garden: Garden, trees: tuple[Tree, ...]) -> None:
    """JSON writes it as an escape, which PostgreSQL takes in its type json (not in jsonb)."""
    entry = replace(_entry(trees), data={"operation": "pinch", "note": "a\0b"})
    with store.begin() as connection:
        log.append(connection, [entry])
    with store.read() as connection:
        assert log.entries(connection, garden.id) == (entry,)


def test_entries_of_one_kind_come_with_what_voids_them(
    store: Store, garden: Garden, trees: tuple[Tree, ...]
) -> None:
    gone = _entry(trees, kind="gone", data={"why": "sold"})
    work, later = _entry(trees), replace(gone, id=uuid4(), happened=date(2015, 6, 25))
    void = _entry(trees, kind="state", voids=gone.id, recorded_at=gone.recorded_at + timedelta(hours=1))
    other = _entry(trees, voids=work.id)
    with store.begin() as connection:
        assert log.entries_of_kind(connection, garden.id, "gone", gone.happened) == ()
        log.append(connection, [void, work, later, gone, other])
    with store.read() as connection:
        assert log.entries_of_kind(connection, garden.id, "gone", gone.happened) == (gone, void)
        assert log.entries_of_kind(connection, garden.id, "gone", later.happened) == (gone, void, later)
        assert log.entries_of_kind(connection, uuid4(), "gone", later.happened) == ()


def test_a_repeated_entry_changes_nothing(store: Store, garden: Garden, trees: tuple[Tree, ...]) -> None:
    entry = _entry(trees[:1])
    again = replace(entry, who="Abel", tree_ids=tuple(tree.id for tree in trees))
    fresh = _entry(trees, recorded_at=entry.recorded_at + timedelta(seconds=1))
    with store.begin() as connection:
        assert log.append(connection, [entry, again]) == 1
        assert log.append(connection, [again, fresh]) == 1
        assert log.entries(connection, garden.id) == (entry, fresh)


def test_an_entry_names_trees_of_its_own_garden_only(
    store: Store, trees: tuple[Tree, ...], make_garden: Callable[..., Garden]
) -> None:
    with store.begin() as connection:
        gardens.add_garden(connection, second := make_garden("Second"))
        for wrong in (_entry(trees, garden_id=second.id), _entry(trees, tree_ids=(uuid4(),))):
            with pytest.raises(
                StoreError, match=r"names the tree [0-9a-f-]{36}, which its garden does not have"
            ):
                log.append(connection, [_entry(trees), wrong])
        assert log.entries(connection, trees[0].garden_id) == ()


# RFC 3339, 5.8: 1996-12-19T16:39:57-08:00 is the instant 1996-12-20T00:39:57Z; the other two by subtraction.
@pytest.mark.parametrize(
    ("local", "utc"),
    [
        ("1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57+00:00"),
        ("2015-06-24T12:00:00+05:00", "2015-06-24T07:00:00+00:00"),
        ("2015-06-24T12:00:00+00:00", "2015-06-24T12:00:00+00:00"),
    ],
)
def test_an_instant_survives_its_offset(
    store: Store, garden: Garden, trees: tuple[Tree, ...], local: str, utc: str
) -> None:
    with store.begin() as connection:
        log.append(connection, [_entry(trees, recorded_at=datetime.fromisoformat(local))])
        (stored,) = log.entries(connection, garden.id)
    assert stored.recorded_at.isoformat() == utc


def test_a_time_without_offset_is_refused(store: Store, garden: Garden, trees: tuple[Tree, ...]) -> None:
    naive = datetime(2015, 6, 24, 12)  # noqa: DTZ001
    with (
        pytest.raises(StoreError, match="the time 2015-06-24T12:00:00 has no offset"),
        store.begin() as connection,
    ):
        log.append(connection, [_entry(trees), _entry(trees, recorded_at=naive)])
    with store.read() as connection:
        assert log.entries(connection, garden.id) == ()


@pytest.mark.parametrize("value", [float("nan"), float("inf"), date(2015, 6, 24), object()])
def test_data_that_json_does_not_know_is_refused(
    store: Store, trees: tuple[Tree, ...], value: object
) -> None:
    """RFC 8259, 6: NaN and the infinities are no JSON numbers."""
    with pytest.raises(StoreError, match="cannot be stored"), store.begin() as connection:
        log.append(connection, [_entry(trees, data={"operation": "pinch", "value": value})])


_names = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20)
_days = st.dates(FIRST, LAST)
_instants = st.datetimes(
    datetime(1900, 1, 1),  # noqa: DTZ001 - hypothesis adds the zone
    datetime(2199, 12, 31),  # noqa: DTZ001
    timezones=st.timezones() | st.integers(-14 * 60, 14 * 60).map(lambda m: timezone(timedelta(minutes=m))),
)
_json = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=6,
)
_entries = st.builds(
    Entry,
    id=st.uuids(),
    garden_id=st.just(UUID(int=0)),
    tree_ids=st.lists(st.sampled_from([UUID(int=1), UUID(int=2)]), max_size=2, unique=True).map(tuple),
    happened=_days,
    recorded_at=_instants,
    who=_names,
    kind=st.sampled_from(["state", "work", "wish"]),
    # keys that this program reads have forms of their own (tests/garden/test_entry_form.py)
    data=st.dictionaries(st.text().map("_{}".format), _json, max_size=3).map(
        lambda data: {**data, "operation": "pinch"}
    ),
    data_version=st.integers(1, 1000),
    at=st.none() | st.times(),
    part_ids=st.lists(st.uuids(), max_size=3).map(tuple),
    voids=st.none() | st.uuids(),
)


# One database for all examples: each example rolls its writes back.
@pytest.mark.slow
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(drawn=st.lists(_entries, max_size=4, unique_by=lambda entry: entry.id))
def test_any_log_comes_back_in_order(
    store: Store, garden: Garden, trees: tuple[Tree, ...], drawn: list[Entry]
) -> None:
    # In UTC already here: to Python, a local time that a clock change skips equals no other one (PEP 495).
    instants = [replace(entry, recorded_at=entry.recorded_at.astimezone(UTC)) for entry in drawn]
    expected = tuple(
        sorted(
            (replace(entry, garden_id=garden.id) for entry in instants),
            key=lambda entry: (entry.happened, entry.recorded_at, entry.id),
        )
    )
    with store.begin() as connection:
        assert log.append(connection, [replace(entry, garden_id=garden.id) for entry in drawn]) == len(drawn)
        assert log.entries(connection, garden.id) == expected
        connection.rollback()
