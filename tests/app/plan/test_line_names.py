"""A printed name stands for the very trees that its line listed, or for nothing."""

from __future__ import annotations

import json
import shutil
from typing import TYPE_CHECKING, Any

import pytest

from tests.app.conftest import run

if TYPE_CHECKING:
    from pathlib import Path

    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

WHERE = ("--db", "nagano.db")
TREES = "2 Japanese maple; trident maple small; satsuki; black pine large; fig; jade; camellia"  # invented


@pytest.fixture(scope="module")
def founded_at_nagano(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the database of a garden of hardy and tender trees on a bench in Nagano, with a warm room."""
    database = tmp_path_factory.mktemp("nagano") / "nagano.db"
    where = ("--db", str(database))
    start = ("start", *where, "--place", "Nagano", "--today", "2026-09-01", "--trees", TREES)
    assert run(*start).status == 0
    assert run("spot", "add", "room", "--profile", "heated", *where).status == 0
    return database


@pytest.fixture
def nagano(founded_at_nagano: Path, folder: Path, leafclock: Program) -> Program:
    """Give the garden in Nagano in a copy of its own."""
    shutil.copy(founded_at_nagano, folder / "nagano.db")
    return leafclock


def data(*words: str) -> Any:
    said = run(*words, *WHERE, "--json")
    assert (said.status, said.err) == (0, ""), said.err
    return json.loads(said.out)


def meant(name: str, day: str) -> set[tuple[str, str]]:
    """Return the items that a name stands for, with their trees."""
    return {(item["id"], item["tree_id"]) for item in data("why", name, "--today", day)}


@pytest.mark.parametrize("day", ["2026-10-20", "2027-02-20"])
def test_each_printed_name_means_what_its_line_listed(nagano: Program, day: str) -> None:
    lines = data("due", "--today", day, "--days", "60")
    for line in lines:
        assert meant(line["name"], day) == {(item["id"], item["tree_id"]) for item in line["items"]}
    assert len({line["name"] for line in lines}) == len(lines) > 5
    page = nagano("plan", "--weeks", "9", "--today", day, *WHERE).out
    assert all(f"\n  {line['name']}  " in page for line in lines)


def test_a_rota_names_the_trees_of_each_sitting(nagano: Program) -> None:
    day = "2026-10-20"
    nagano("hours", "Mon-Sun 6min", "--today", day, *WHERE)
    work = [line for one in data("rota", "--today", day)["days"] for line in one["work"]]
    for line in work:
        assert {tree for _, tree in meant(line["item"], day)} == set(line["tree_ids"])
    one_event = [line["item"] for line in work if line["rule"] == work[0]["rule"]]
    assert len(one_event) == len(set(one_event))


def test_an_answer_does_not_reach_trees_that_come_under_its_event_later(nagano: Program) -> None:
    """Trees go indoors one after another; whoever answers the line read before must not tick off the later ones."""
    moved = ("tree", "change", "Tropical fig 1", "--spot", "room", "--today", "2026-10-05", *WHERE)
    assert nagano(*moved).status == 0
    checks = [
        one for one in data("due", "--today", "2026-10-19") if one["items"][0]["operation"] == "winter check"
    ]
    assert len(checks) == 1
    assert nagano("tree", "change", "Jade 1", "--spot", "room", "--today", "2026-10-18", *WHERE).status == 0
    name = checks[0]["name"]
    said = nagano("answer", name, "Checked", "--today", "2026-10-19", *WHERE)
    assert (said.status, said.out) == (0, "Checked: Tropical fig 1.\n")


def test_a_name_that_no_longer_stands_writes_nothing_and_tells_what_stands(nagano: Program) -> None:
    day = "2026-10-28"
    (line,) = [
        one
        for one in data("due", "--today", day, "--days", "14")
        if one["items"][0]["operation"] == "shelter in" and len(one["items"]) == 2
    ]
    assert nagano("tree", "change", "Japanese maple 1", "--spot", "room", "--today", day, *WHERE).status == 0
    before = data("log", "--today", day)
    said = nagano("answer", line["name"], "not this year", "--today", day, *WHERE)
    assert said.status == 2
    first = data("due", "--today", day)[0]["name"]
    assert said.err.startswith(
        f"leafclock: no line '{line['name']}' stands today: it was answered, or its trees are in other lines; "
        f"now stand {first} "
    )
    assert len(said.err.splitlines()) == 1
    assert data("log", "--today", day) == before
