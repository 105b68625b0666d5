"""One's own garden: from an empty folder to the first plan."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from calendar_core.app.shell.clock import clock
from calendar_core.knowledge.profiles.bundled import folder as bundled
from tests.app.conftest import DAY, TREES

if TYPE_CHECKING:
    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

SEATTLE = ("--lat", "47.5", "--lon", "-122.3")
FILE = """
since = 2014-01-01
[garden]
id = "2c5d5b52-3a86-4d34-9d53-0c1f3a4c9e10"
name = "North court"
place = "Seattle"
[[spot]]
name = "wall"
sun_from = 06:00:00
sun_to = 12:00:00
surface = "paving"
horizon = [[180, 20], [270, 35.5]]
[[tree]]
species = "Japanese maple"
label = "Old one"
vigour = 4
aim = "refinement"
spot = "wall"
pot = "dark glazed"
last_repot = 2012-03-10
[[log]]
on = 2015-03-20
trees = ["Old one"]
saw = "bud_break"
"""  # invented
NAME = re.compile(r"\[[0-9a-f]{6}\]$", re.MULTILINE)


def assert_first_plan(out: str) -> None:
    """A season line, at most five items with reasons, one question, the next two commands."""
    season, _, rest = out.partition("Your first items")
    assert (
        "Sun 5:12 to 21:10, 15 h 58 min" in season
    )  # United States Naval Observatory's table has these times
    assert 1 <= len(NAME.findall(rest)) <= 5
    assert rest.count("One question: ") == 1
    last = rest.split("\n\n")[-1]
    assert last.startswith("Next: ")
    assert last.count("leafclock ") == 2


def test_coordinates_and_trees_give_the_first_plan(leafclock: Program, folder: Path) -> None:
    made = leafclock("start", *SEATTLE, "--trees", TREES, "--today", DAY)
    assert (made.status, made.err) == (0, "")
    assert_first_plan(made.out)
    assert "not known yet" in made.out  # of this year's weather: there are normals only
    assert [path.name for path in folder.iterdir()] == ["garden.db"]


def test_what_is_not_given_is_asked_for(leafclock: Program) -> None:
    made = leafclock(
        "start", "--today", DAY, typed="47.5, -122.3\n3 Japanese maple small\nblack pine refinement\n\n"
    )
    assert made.status == 0
    assert_first_plan(made.out.partition("Trees: ")[2])
    trees = json.loads(leafclock("tree", "list", "--json").out)
    assert [(t["tree"]["species"], t["state"]["size"], t["state"]["aim"]) for t in trees] == [
        ("pinus-thunbergii", "medium", "refinement"),
        *[("acer-palmatum", "small", "structure")] * 3,
    ]


def test_answers_may_come_from_a_pipe_that_ends(leafclock: Program) -> None:
    made = leafclock("start", "--today", DAY, typed="Nagano\nsatsuki azalea")
    assert made.status == 0
    assert "Satsuki azalea 1" in made.out


def test_no_answer_is_a_refusal(leafclock: Program, folder: Path) -> None:
    made = leafclock("start", "--today", DAY)
    assert (made.status, made.err) == (
        2, "leafclock: no place is given; right would be --lat and --lon, or --place NAME\n",
    )  # fmt: skip
    assert not list(folder.iterdir())


def test_a_garden_file_brings_spots_trees_and_log(leafclock: Program) -> None:
    Path("court.toml").write_text(FILE, encoding="utf-8")
    made = leafclock("start", "--from", "court.toml", "--today", DAY)
    assert made.status == 0
    assert "North court, Seattle" in made.out
    assert leafclock("spot", "list").out == "wall: open, sun 06:00 to 12:00, horizon up to 35.5°, paving\n"
    (old,) = json.loads(leafclock("tree", "list", "--json", "--today", DAY).out)
    assert (old["state"]["pot"], old["state"]["pot_litres"]) == ("dark glazed", None)
    listed = leafclock("log", "--today", DAY).out
    assert "2012-03-10  Old one: Repotted" in listed
    assert "2015-03-20  Old one: saw bud break" in listed
    assert "2014-01-01  Old one: aim refinement, vigour 4, size medium, spot wall" in listed


def test_a_bundled_place_brings_its_zone_and_names_its_source(leafclock: Program) -> None:
    made = leafclock("start", "--place", "melbourne", "--trees", "Japanese maple", "--today", DAY)
    assert made.status == 0
    assert made.out.startswith("My garden, Melbourne. Wednesday, 24 June 2015\nSun 7:3")
    assert "Bureau of Meteorology" in made.out


def test_measured_days_of_ones_own_replace_the_normals(leafclock: Program) -> None:
    """Far from any bundled place there is no plan without them."""
    demo = str(bundled("demo") / "seattle-weather.csv")
    where = ("start", "--lat", "0.5", "--lon", "-140", "--trees", "tropical fig", "--today", DAY)
    alone = leafclock(*where)
    assert alone.status == 2
    assert alone.err.endswith(" with --weather FILE\n")
    made = leafclock(*where, "--weather", demo)
    assert made.status == 0
    assert "Only 3 past years of weather are known" in made.out


def test_trees_may_come_later(leafclock: Program) -> None:
    made = leafclock("start", *SEATTLE, "--trees", "", "--today", DAY)
    assert made.status == 0
    assert "No trees yet." in made.out
    assert leafclock("plan", "--today", DAY).status == leafclock("stages", "--today", DAY).status == 0
    assert "No trees yet." in leafclock("tree", "list").out
    added = leafclock("tree", "add", "black pine", "--pot-kind", "wood", "--today", DAY)
    assert added.out == "Added: Japanese black pine 1.\n"
    (pine,) = json.loads(leafclock("tree", "list", "--json", "--today", DAY).out)
    assert pine["state"]["pot"] == "wood"


def test_one_database_holds_several_gardens(leafclock: Program) -> None:
    for name, place in (("North", "Sapporo"), ("South", "Melbourne")):
        made = leafclock("start", "--name", name, "--place", place, "--trees", "black pine", "--today", DAY)
        assert made.status == 0
    leafclock("tree", "add", "Japanese maple", "--label", "Guest", "--garden", "south", "--today", DAY)
    assert "Guest" in leafclock("tree", "list", "--garden", "South").out
    assert "Guest" not in leafclock("tree", "list", "--garden", "North").out
    unnamed = leafclock("plan", "--today", DAY)
    assert (unnamed.status, unnamed.err) == (
        2, "leafclock: there are 2 gardens: choose one with --garden: 'North', 'South'\n",
    )  # fmt: skip
    twice = leafclock("start", "--name", "NORTH", "--place", "Nagano", "--trees", "black pine")
    assert (twice.status, twice.err) == (
        2, "leafclock: there is a garden 'North' already: give another name\n",
    )  # fmt: skip


def test_postgresql_gives_the_same_words_as_sqlite(leafclock: Program, empty_postgresql: str) -> None:
    Path("court.toml").write_text(FILE, encoding="utf-8")
    said: list[list[tuple[int, str, str]]] = []
    for db in ("garden.db", empty_postgresql):
        here = ("--db", db, "--today", DAY)
        first = leafclock("start", "--from", "court.toml", *here)
        later = [
            leafclock(*words, *here)
            for words in (
                ("tree", "add", "2 black pine", "--label", "x"),
                ("tree", "add", "black pine", "--label", "盆栽 🌲"),
                ("log", "all", "wire", "2015-06-01", "--note", "loose"),
                ("wish", "Old one", "repot"),
                ("plan", "--all"),
                ("stages",),
                ("calendar", f"{len(said)}.ics"),
            )
        ]
        said.append(
            [
                (
                    one.status,
                    re.sub(r"Entry \w+|^\d\.ics|\[\w{6}\]|^  [0-9a-f]{6}  ", "", one.out, flags=re.MULTILINE),
                    one.err,
                )
                for one in (first, *later)
            ]
        )
    assert [status for status, _, _ in said[0]] == [0, 2, 0, 0, 0, 0, 0, 0]
    assert said[0] == said[1]


def test_the_first_entries_are_of_the_gardens_own_day(leafclock: Program) -> None:
    """Where it is tomorrow, or still yesterday, by the clock of Greenwich. One of the two always is."""
    for place, zone in (("Kiribati", "Pacific/Kiritimati"), ("Niue", "Pacific/Niue")):
        here = (*SEATTLE, "--zone", zone, "--name", place)
        made = leafclock("start", *here, "--trees", "2 black pine", "--db", f"{place}.db")
        assert made.status == 0
        entries = json.loads(leafclock("log", "--db", f"{place}.db", "--json").out)
        assert {entry["happened"] for entry in entries} == {clock(zone).today.isoformat()}
        assert len(entries) == 2
