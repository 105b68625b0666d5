"""Looking ahead: the repotting rota, work before a show, the sheet for whoever waters while one is away."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

DAY = "2015-06-24"  # that of the `garden` fixture: three maples, a pine


def test_the_rota_counts_pots_and_soil_by_spring(garden: Program) -> None:
    first = json.loads(garden("tree", "list", "--json").out)[0]["tree"]["label"]
    garden("log", first, "repot", "2013-03-10")
    rota = json.loads(garden("repotting", "--json").out)
    turn = next(one for one in rota if one["last"] == "2013-03-10")
    assert turn["year"] == 2013 + turn["every_years"]
    assert turn["soil_litres"] == pytest.approx(1.1 * turn["pot_litres"], abs=0.06)
    assert [one["year"] for one in rota if one["year"] is None] == [None] * (len(rota) - 1)
    told = garden("repotting").out
    assert f"{turn['year']}: 1 pot, {turn['soil_litres']:g} litres of soil" in told
    assert "Last repotting not written down" in told


def test_a_turn_that_was_missed_falls_to_the_next_spring(garden: Program) -> None:
    label = json.loads(garden("tree", "list", "--json").out)[0]["tree"]["label"]
    garden("log", label, "repot", "2001-03-10")
    assert json.loads(garden("repotting", "--json").out)[0]["year"] == 2016


def test_work_is_counted_back_from_a_show(garden: Program) -> None:
    label = json.loads(garden("tree", "list", "--json").out)[0]["tree"]["label"]
    steps = json.loads(garden("show", label, "2015-10-10", "--json").out)
    assert [one["day"] for one in steps] == sorted(one["day"] for one in steps)
    assert {one["operation"]: one["day"] for one in steps}["moss"] == "2015-09-05"
    late = garden("show", label, "2015-06-26")
    assert "Too late for anything but a clean pot and water." in late.out
    past = garden("show", label, DAY)
    assert (past.status, past.err) == (
        2,
        f"leafclock: {DAY} is not ahead; right would be the day of the show\n",
    )


def operations(garden: Program, label: str, day: str) -> set[str]:
    """What is done to a tree before it is shown."""
    return {one["operation"] for one in json.loads(garden("show", label, day, "--json").out)}


def test_nothing_is_cut_before_a_show_that_its_species_has_no_such_cut_for(garden: Program) -> None:
    garden("tree", "add", "Satsuki azalea, Japanese black pine, Japanese maple")
    assert "cut back" in operations(garden, "Japanese maple 1", "2015-07-20")
    for label in ("Satsuki azalea", "Japanese black pine"):
        assert "cut back" not in operations(garden, label, "2015-07-20")
        assert "turn pots" in operations(garden, label, "2015-07-20")


def test_a_tree_that_is_shown_in_bloom_keeps_its_flowers(garden: Program) -> None:
    garden("tree", "add", "Crabapple")
    assert "cut back" in operations(garden, "Crabapple", "2015-07-20")
    (shown,) = json.loads(garden("tree", "show", "Crabapple", "--json").out)
    bloom = {one["stage"]: one["range"] for one in shown["stages"] if one["cycle"] == 2016}
    for day in (bloom["flowering"]["likely"], bloom["bloom_over"]["likely"]):
        assert "cut back" not in operations(garden, "Crabapple", day)


def test_trees_that_get_other_steps_are_told_one_after_the_other(garden: Program) -> None:
    garden("tree", "add", "Crabapple, Satsuki azalea")
    told = garden("show", "Crabapple, Satsuki azalea", "2015-07-20").out
    assert told.count("Shown on 20 July: ") == 2
    assert told.count("Cut back. ") == 1


def test_the_sitter_gets_water_and_looks_but_no_work(garden: Program) -> None:
    label = json.loads(garden("tree", "list", "--json").out)[0]["tree"]["label"]
    garden("log", label, "repot", "2015-06-20")
    garden("log", label, "thread graft", "2015-04-20", "--part", "low left")
    sheet = " ".join(garden("sitter", "2015-06-25", "2015-07-05").out.split())
    assert f"Look at the repotted tree: {label}" in sheet
    assert "Rub off growth" not in sheet
    assert "Cut, wire, repot, fertilize or spray: all that waits." in sheet


@pytest.mark.parametrize(
    ("first", "last"),
    [("2015-06-20", "2015-06-30"), ("2015-07-05", "2015-07-01"), ("2015-07-01", "2016-07-01")],
)
def test_days_away_lie_ahead_in_order_and_are_no_year(garden: Program, first: str, last: str) -> None:
    refused = garden("sitter", first, last)
    assert (refused.status, refused.out) == (2, "")
    assert refused.err.startswith(
        f"leafclock: {first} to {last}: right would be days from today on, at most 120"
    )


def test_what_the_grower_puts_off_for_a_year_is_in_the_next_and_years_come_out_even(
    leafclock: Program,
) -> None:
    where = ("--db", "turns.db", "--today", "2015-03-20")
    leafclock("start", *where, "--place", "Lisle", "--trees", "6 Japanese maple; 6 trident maple")
    for species, last in (("Japanese maple", "2012-04-01"), ("Trident maple", "2013-04-01")):
        for n in range(1, 7):
            leafclock("log", f"{species} {n}", "repot", last, *where)
    rota = json.loads(leafclock("repotting", *where, "--json").out)
    assert [(turn["year"], turn["waits"], turn["every_years"]) for turn in rota] == [
        *[(2015, turn["every_years"] == 3, turn["every_years"]) for turn in rota]
    ]
    assert sum(turn["waits"] for turn in rota) == 6
    told = leafclock("repotting", *where).out
    assert "May wait a year, for 6 pots in 2015 and 6 in 2016: Japanese maple 1" in told
    due = json.loads(leafclock("plan", *where, "--json").out)["items"]
    name = next(one["id"] for one in due if (one["operation"], one["species"]) == ("repot", "acer-palmatum"))
    leafclock("answer", name, "not this year", *where)
    years = [turn["year"] for turn in json.loads(leafclock("repotting", *where, "--json").out)]
    assert sorted(years) == [2015] * 11 + [2016]  # an item's own id is of one tree
