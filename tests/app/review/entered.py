"""A garden on the day of a walk, forms that are filled in for it, and what the log holds then."""

from __future__ import annotations

import json
import shutil
from typing import TYPE_CHECKING, Any

import pytest

from tests.app.conftest import DAY, Answer, run

if TYPE_CHECKING:
    from pathlib import Path

WALK, WEEK_LATER = "2015-09-20", "2015-09-27"  # in the late summer round of all but the pine
MAPLE = "Japanese maple 1"
PARTS = (  # invented
    ("part", "add", MAPLE, "graft", "Low left", "--height", "100"),
    ("log", MAPLE, "structural prune", "--part", "back stub", "--height", "150", "--measure", "width=14"),
    ("part", "add", MAPLE, "branch", "first right", "--decide-by", "leaf fall"),
    ("part", "add", MAPLE, "branch", "new right", "--directive", "keep as backup"),
    ("part", "add", MAPLE, "branch", "old one"),
    ("part", "change", MAPLE, "old one", "2015-08-01", "--gone"),
)


@pytest.fixture(scope="session")
def with_parts(founded: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the founded garden's database, with parts of a maple written down; it is copied, never changed."""
    database = tmp_path_factory.mktemp("parts") / "garden.db"
    shutil.copy(founded, database)
    for words in PARTS:
        day = WALK if "--gone" in words else DAY
        assert run(*words, "--db", str(database), "--today", day).status == 0
    return database


@pytest.fixture
def walked(with_parts: Path, folder: Path) -> None:
    """Copy that database to where it is found."""
    shutil.copy(with_parts, folder / "garden.db")


def on(day: str, *words: str, typed: str = "") -> Answer:
    """Run the program on a day."""
    return run(*words, "--today", day, typed=typed)


def form(*lines: str, day: str = WALK, words: tuple[str, ...] = ()) -> Answer:
    """Enter a filled form."""
    return on(day, "review", "enter", "--lines", "-", *words, typed="\n".join(lines))


def data(*words: str, day: str = WALK) -> Any:
    """Return what a command gives as data."""
    answer = on(day, *words, "--json")
    assert (answer.status, answer.err) == (0, "")
    return json.loads(answer.out)


def entries(tree: str = MAPLE, day: str = WEEK_LATER) -> list[dict[str, Any]]:
    """Return the entries about a tree that hold, from the walk on."""
    return [entry for entry in data("log", tree, day=day) if entry["happened"] >= WALK]


def of_kind(kind: str, tree: str = MAPLE) -> list[dict[str, Any]]:
    """Return the data of its entries of a kind, without which questions they answer."""
    some = [entry["data"] for entry in entries(tree) if entry["kind"] == kind]
    return [{key: value for key, value in told.items() if key != "asked"} for told in some]


def part(name: str, day: str = WEEK_LATER) -> dict[str, Any]:
    """Return what is known of a part of the maple."""
    parts = data("part", "list", MAPLE, day=day)[MAPLE]
    return dict(next(found for found in parts if found["name"] == name))
