"""Entries that cannot be read: named with what takes them back, and everything else goes on."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

import pytest

from tests.app.conftest import DAY, run

if TYPE_CHECKING:
    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

READERS = (
    ("plan",), ("due",), ("stages",), ("calendar", "bench.ics"), ("today",), ("rota",), ("log",), ("tree", "list"),
    ("tree", "show", "Japanese maple 1"), ("history", "Japanese maple 1"), ("fertilize",), ("review", "plan"),
    ("repotting",), ("why", "Japanese maple 1", "repot"),
)  # fmt: skip


def spoil(kind: str, data: str) -> str:
    """Let the newest entry of a kind say something else, as no command would; return its name."""
    with closing(sqlite3.connect("garden.db")) as connection, connection:
        (name,) = connection.execute(
            "SELECT id FROM entry WHERE kind = ? ORDER BY recorded_at DESC LIMIT 1", (kind,)
        ).fetchone()
        connection.execute("UPDATE entry SET data = ? WHERE id = ?", (data, name))
    return str(name)[:8]


@pytest.fixture
def logged(garden: Program) -> Program:
    assert garden("tree", "change", "Japanese maple 1", "--vigour", "4", "--day", "2015-06-24").status == 0
    assert garden("log", "Japanese maple 2", "wire", "2015-06-24").status == 0
    return garden


@pytest.mark.parametrize("words", READERS, ids=" ".join)
def test_a_number_as_text_stops_nothing(logged: Program, words: tuple[str, ...]) -> None:
    name = spoil("state", '{"vigour": "5"}')
    answer = logged(*words)
    assert answer.status == 0
    assert answer.out
    assert answer.err == (
        f"leafclock: the entry {name} of 2015-06-24 (state) cannot be read and is left out: data.vigour: found '5'; "
        f"right would be a whole number from 1 to 5; to take it back: leafclock log --void {name}\n"
    )


@pytest.mark.parametrize(
    ("kind", "data", "fault"),
    [
        ("work", '{"operation":', "data: found '{\"operation\":'; right would be an object of JSON"),
        ("work", '{"operation": "levitate"}', "data.operation: found 'levitate'; right would be an operation of this program"),
        ("work", "[" * 60_000, "data: found '["),
        ("state", '{"spot": "bench"}', "data.spot: found 'bench'; right would be an id"),
    ],
)  # fmt: skip
def test_taken_back_it_is_told_no_more(logged: Program, kind: str, data: str, fault: str) -> None:
    name = spoil(kind, data)
    asked = logged("plan", "--json")
    assert (asked.status, len(asked.err.splitlines())) == (0, 1)
    assert fault in asked.err
    assert json.loads(asked.out)["items"]
    answer = logged("log", "--void", name)
    assert (answer.status, answer.out) == (
        0, "Void: an entry that could not be read, 24 June.\n",
    )  # fmt: skip
    assert logged("plan").err == ""
    assert name not in logged("log").out
    assert logged("log", "--void", name).status == 2


def test_the_rest_is_taken_along(logged: Program) -> None:
    spoil("state", '{"vigour": "5"}')
    whole = len(logged("log", "--json").out)
    assert run("export", "out", "--exact").status == 0
    taken = run("import", "out", "--db", "second.db")
    assert (taken.status, taken.err) == (0, "")
    assert len(run("log", "--json", "--db", "second.db", "--today", DAY).out) == whole


def test_a_species_of_another_program_is_named(garden: Program) -> None:
    with closing(sqlite3.connect("garden.db")) as connection, connection:
        connection.execute("UPDATE tree SET species = 'acer-lunae' WHERE label = 'Japanese maple 1'")
    answer = garden("plan")
    assert answer.status == 2
    assert answer.err == (
        "leafclock: Japanese maple 1: its species 'acer-lunae' is not known; right would be the program that knows it, "
        "or a copy from before: leafclock restore\n"
    )
