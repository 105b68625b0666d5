"""Data for other programs: JSON by RFC 8259 (no NaN, one value) in the shapes of tests/app/shapes.py."""

from __future__ import annotations

import json
import shutil
from typing import TYPE_CHECKING

import pytest

from tests.app.conftest import DAY, TREES, run
from tests.app.shapes import SHAPES

if TYPE_CHECKING:
    from pathlib import Path

    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

ASKED = {
    "today": ("today",),
    "plan": ("plan", "--all"),
    "start": ("start", "--place", "Nagano", "--trees", TREES, "--db", "other.db"),
    "why": ("why", "all", "repot"),
    "stages": ("stages",),
    "changes": ("changes", "--since", "2015-01-01"),
    "tree list": ("tree", "list"),
    "tree list --gone": ("tree", "list", "--gone"),
    "tree show": ("tree", "show", "Japanese maple 1, Tropical fig 1"),
    "spot list": ("spot", "list"),
    "log": ("log",),
    "calendar": ("calendar", "bench.ics"),
    "calendar --places": ("calendar", "--places"),
    "weather status": ("weather", "status"),
    "species list": ("species", "list"),
    "species show NAME": ("species", "show", "black pine"),
    "places": ("places",),
    "audit NAME": ("audit", "black pine"),
    "choices": ("choices",),
    "fertilize": ("fertilize", "--label", "7-3-6", "--rate", "2 mL/L", "--liquid", "1.2"),
    "part list": ("part", "list"),
    "due": ("due",),
    "rota": ("rota",),
    "review plan": ("review", "plan", "--weeks", "26"),
    "hours": ("hours",),
    "before": ("before", "Japanese maple 1", "cut back"),
    "history": ("history", "Japanese maple 1"),
    "what-if": ("what-if", "--tree", "Japanese maple 1", "--do", "full defoliation", "--on", "2015-06-30"),
    "repotting": ("repotting",),
    "show": ("show", "Japanese maple 1", "2015-10-01"),
    "sitter": ("sitter", "2015-08-01", "2015-08-14"),
    "review next": ("review", "next"),
    "review summary": ("review", "summary"),
    "warn": ("warn", "--dry-run"),
    "channel list": ("channel", "list"),
    "address list": ("address", "list"),
}


def no_number(name: str) -> None:
    raise AssertionError(f"{name} is not JSON")


@pytest.fixture(scope="module")
def lived_in(founded: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a copy of the founded garden with an entry of every kind."""
    database = tmp_path_factory.mktemp("lived_in") / "garden.db"
    shutil.copy(founded, database)
    here = ("--db", str(database), "--today", DAY)
    run("spot", "add", "wall", "--sun-from", "06:00", "--sun-to", "12:00", *here[:2])
    run("calendar", "--to", str(database.parent / "care"), *here)
    run("address", "add", "moves", "--label", "phone", *here[:2])
    run("channel", "add", "mail", "ines@leafclock.example", "--quiet", "22:00-07:00", *here[:2])
    items = json.loads(run("plan", "--json", *here).out)["items"]
    for words in (
        ("answer", items[0]["id"], "in a week"),
        ("answer", items[-1]["id"], "not this year"),
        ("tree", "change", "Japanese maple 1", "--spot", "wall", "--pot", "3.5", "--aim", "refinement"),
        ("log", "all", "wire", "2015-06-01", "--note", 'he said "loose"'),
        ("seen", "Japanese maple 1", "bud break", "2015-03-20"),
        ("seen", "Japanese maple 2", "closed", "2015-03-01"),
        ("wish", "Japanese maple 2", "repot"),
        ("choices", "summer shade", "none"),
        ("part", "add", "Japanese maple 1", "wound", "low cut", "--height", "60", "--side", "back"),
        ("measure", "Japanese maple 1", "low cut", "width=12"),
        ("hours", "Sat 3h, Mon-Fri 20min"),
        ("away", "2015-08-01", "2015-08-14"),
        ("part", "change", "Japanese maple 1", "low cut", "--decide", "recut wound"),
        ("tree", "add", "black pine", "--label", "Lost pine"),
        ("tree", "gone", "Lost pine", "--why", "given away"),
    ):
        assert run(*words, *here).status == 0
    return database


@pytest.mark.parametrize("command", SHAPES)
def test_data_have_their_shape(lived_in: Path, garden: Program, command: str) -> None:
    shutil.copy(lived_in, "garden.db")
    printed = garden(*ASKED[command], "--json")
    assert (printed.status, printed.err) == (0, "")
    data = json.loads(printed.out, parse_constant=no_number)
    SHAPES[command].validate_json(printed.out)
    assert data


def test_the_plan_says_of_what_and_of_which_day_it_is(garden: Program) -> None:
    plan = json.loads(garden("plan", "--json").out)
    everything = json.loads(garden("plan", "--all", "--json").out)
    assert plan["today"] == DAY
    assert sorted(plan["trees"].values()) == [
        "Japanese black pine 1", "Japanese maple 1", "Japanese maple 2", "Satsuki azalea 1", "Tropical fig 1",
    ]  # fmt: skip
    assert {item["status"] for item in plan["items"]} == {"due"}
    assert {item["status"] for item in everything["items"]} == {"due", "possible"}


def test_any_text_comes_back(garden: Program) -> None:
    label = 'Quote " back\\slash 盆栽 🍁 é'
    garden("tree", "add", "black pine", "--label", label)
    assert label in [tree["tree"]["label"] for tree in json.loads(garden("tree", "list", "--json").out)]
