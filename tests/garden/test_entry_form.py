"""What an entry may hold: what passes can be read, what cannot be read is named."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any, cast, get_args
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.departures import departures
from calendar_core.garden.entry_form import faults_of, unknown_work
from calendar_core.garden.hours import absences, begins, free_minutes, weekly
from calendar_core.garden.limits import LAST
from calendar_core.garden.model import Entry, EntryKind
from calendar_core.garden.state import chosen, states
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.knowledge.profiles.terms import load_terms
from calendar_core.wording.garden.log_text import LogSpeaker
from calendar_core.wording.style import Style
from tests.made_entries import LEAST, MOST

if TYPE_CHECKING:
    from collections.abc import Mapping

KINDS: tuple[EntryKind, ...] = get_args(EntryKind)
TREE = UUID(int=1)
OPERATIONS = load_terms(folder("config")).operations
TELLS = LogSpeaker(Style(), cast("Any", OPERATIONS), {}, {}, {})


def an_entry(kind: EntryKind, data: Mapping[str, Any]) -> Entry:
    now = datetime(2015, 6, 24, tzinfo=UTC)
    trees = () if kind in ("choice", "hours", "away") else (TREE,)
    return Entry(
        UUID(int=2), UUID(int=3), trees, now.date(), now, "owner", kind, data, part_ids=(UUID(int=4),)
    )


def read(entry: Entry) -> None:
    """Read an entry as everything does that reads the log."""
    states([TREE], [entry], LAST)
    chosen([entry], LAST)
    weekly([entry], LAST)
    begins([entry], LAST)
    absences([entry], LAST)
    departures([entry], LAST)
    free_minutes([entry], date(2015, 6, 24), 40)
    TELLS.told(entry, TREE)


def test_an_entry_of_no_known_kind_cannot_be_read() -> None:
    (fault,) = faults_of(an_entry(cast("EntryKind", "diary"), {}))
    assert fault == f"kind: found 'diary'; right would be one of: {', '.join(KINDS)}"


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("some", [LEAST, MOST])
def test_what_the_program_writes_can_be_read(
    kind: EntryKind, some: Mapping[EntryKind, Mapping[str, Any]]
) -> None:
    entry = an_entry(kind, some[kind])
    assert faults_of(entry) == ()
    read(entry)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=4) | st.sampled_from(["5", "", "hold"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3),
    max_leaves=6,
)  # fmt: skip


@settings(max_examples=150)
@given(kind=st.sampled_from(KINDS), drawn=st.data())
def test_what_passes_can_be_read(kind: EntryKind, drawn: st.DataObject) -> None:
    """One value, or a missing one, in the place of a right one: it is named, or nothing stumbles over it."""
    data = dict(MOST[kind])
    key = drawn.draw(st.sampled_from(sorted(data)))
    if drawn.draw(st.booleans()):
        data[key] = drawn.draw(JSON)
    else:
        del data[key]
    entry = an_entry(kind, data)
    if not faults_of(entry) and not unknown_work(entry, OPERATIONS):
        read(entry)


@pytest.mark.parametrize(
    ("kind", "data", "fault"),
    [
        ("state", {"vigour": "5"}, "data.vigour: found '5'; right would be a whole number from 1 to 5"),
        ("state", {"vigour": True}, "data.vigour: found True; right would be a whole number from 1 to 5"),
        ("state", {"pot_litres": 1e12}, "data.pot_litres: found 1000000000000.0; right would be a number above 0, at most 1000, or null"),
        ("part", {"height_mm": 1e12}, "data.height_mm: found 1000000000000.0; right would be a number from 0 to 20000"),
        ("measure", {"values": {"width": 1e12}}, "data.values: found {'width': 1000000000000.0}; right would be numbers by name, each from 0 to 20000"),
        ("gone", {}, "data.why: is missing; right would be one of: died, sold, given away"),
        ("answer", {**LEAST["answer"], "answer": "put off"}, "data.until: is missing; right would be a day from 1901 to 2099, such as 2015-06-24"),
        ("away", {"from": "2015-08-01", "until": "9999-12-31"}, "data.until: found '9999-12-31'; right would be a day from 1901 to 2099, such as 2015-06-24"),
        ("work", "{", "data: found '{'; right would be an object of JSON"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_named(kind: EntryKind, data: Any, fault: str) -> None:
    entry = an_entry(kind, data)
    assert faults_of(entry) == (fault,)
    assert faults_of(replace(entry, voids=UUID(int=9))) == ()  # it takes back, and is read no further


def test_work_of_another_program_is_named() -> None:
    entry = an_entry("wish", {"operation": "levitate"})
    assert unknown_work(entry, OPERATIONS) == (
        "data.operation: found 'levitate'; right would be an operation of this program",
    )
    assert unknown_work(an_entry("part", {"decided": ""}), OPERATIONS) == ()
