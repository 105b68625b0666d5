"""``fertilize``: what a grower reads, and what is refused in one line."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import TYPE_CHECKING

import icalendar
import pytest

from tests.app.conftest import DAY, run
from tests.app.test_bad_input import assert_refused, rows

if TYPE_CHECKING:
    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

FULL = ("--label", "20-20-20", "--rate", "1 g/L", "--can", "10")
AUTUMN = "2015-10-05"


def block(out: str, tree: str) -> str:
    """The lines below the heading that names a tree, as one line."""
    (found,) = [part for part in out.split("\n\n") if tree in part.splitlines()[0]]
    return " ".join(found.split())


def line_of(out: str, work: str) -> str:
    """The lines of the first item whose work and trees begin so, as one line."""
    found = re.search(rf"{work}.*(?:\n +(?![0-9a-f]{{6}} ).*)*", out)
    assert found is not None, (work, out)
    return " ".join(found[0].split())


def test_trees_that_get_the_same_share_a_paragraph(garden: Program) -> None:
    answer = garden("fertilize", *FULL)
    assert (answer.status, answer.err) == (0, "")
    assert block(answer.out, "Japanese maple 1").startswith("Japanese maple 1 and Japanese maple 2 ")
    garden("tree", "change", "Japanese maple 1", "--aim", "refinement", "--vigour", "4")
    answer = garden("fertilize", *FULL)
    assert block(answer.out, "Japanese maple 1").startswith("Japanese maple 1 Hard growth: 50 % ")


def test_grams_for_the_can_and_what_they_make(garden: Program) -> None:
    maple = block(garden("fertilize", "Japanese maple 1", *FULL).out, "Japanese maple 1")
    assert "Hard growth: 100 % of the label's rate, but no more than 150 mg/L of nitrogen;" in maple
    assert "7.5 g in 10 L: nitrogen 150 mg/L, phosphorus 65 mg/L, potassium 125 mg/L." in maple
    weaker = block(
        garden("fertilize", "Japanese maple 1", "--label", "20-20-20", "--rate", "0.5 g/L").out, "Japanese"
    )
    assert "0.5 g in 1 L: nitrogen 100 mg/L," in weaker
    assert "The label's rate bounds it." in weaker


def test_millilitres_of_a_liquid(garden: Program) -> None:
    words = ("--label", "7-3-6", "--rate", "5 mL/L", "--liquid", "1.2", "--can", "10")
    maple = block(garden("fertilize", "Japanese maple 1", *words).out, "Japanese maple 1")
    assert "17.9 mL in 10 L: nitrogen 150 mg/L" in maple  # 150 x 10 / (1.2 x 70)


def test_gallons_and_ounces_where_they_are_used(founded: Path, folder: Path) -> None:
    where = ("--db", "us.db", "--today", "2015-06-24")
    assert (
        run("start", *where, "--place", "Seattle", "--trees", "Japanese maple", "--units", "us").status == 0
    )
    words = ("--label", "20-20-20", "--rate", "13.5 oz/100gal", "--can", "2")
    maple = block(run("fertilize", *where, *words).out, "Japanese maple")
    assert "5.68 g (0.2 oz) in 2 gal: nitrogen 150 ppm" in maple


def test_the_solution_that_pots_take(garden: Program) -> None:
    garden("tree", "change", "Japanese maple 1", "--pot", "4")
    maple = block(garden("fertilize", "Japanese maple 1", *FULL).out, "Japanese maple 1")
    assert maple.endswith("The pot written down takes about 1 L of it at a time, with 0.75 g.")


def test_a_weak_tree_gets_little_and_a_repotted_one_waits(garden: Program) -> None:
    garden("tree", "change", "Japanese maple 1", "--vigour", "2")
    garden("log", "Japanese maple 2", "repot", "2015-06-10")
    out = garden("fertilize", *FULL).out
    first = block(out, "Japanese maple 1")
    assert "25 to 50 % of the label's rate" in first
    assert "Vigour 2: no more than a recovering tree gets." in first
    second = block(out, "Japanese maple 2")
    assert "Nothing before 8 July. Waits four weeks after repot on 10 June." in second
    assert "From 8 July, summer: 75 %" in second


def test_autumn_wants_a_product_low_in_nitrogen(garden: Program, folder: Path) -> None:
    maple = block(run("fertilize", "Japanese maple 1", "--today", AUTUMN, *FULL).out, "Japanese maple 1")
    assert "Not with this product: take one whose nitrogen is at most 25 % of its N-P-K" in maple
    low = ("--label", "0-10-10", "--rate", "2 g/L")
    maple = block(run("fertilize", "Japanese maple 1", "--today", AUTUMN, *low).out, "Japanese maple 1")
    assert "0.5 g in 1 L: nitrogen 0 mg/L, phosphorus 22 mg/L, potassium 42 mg/L." in maple


def test_cakes_are_counted_and_replaced(garden: Program) -> None:
    garden("log", "Japanese maple 1", "feeding cakes", "2015-05-20")
    out = garden("fertilize", "--cakes").out
    assert "Cakes since 20 May: put on 2 to 4 new ones on 1 July." in block(out, "Japanese maple 1")
    assert "Cakes: 2 to 4 a pot, replaced after 6 weeks." in block(out, "Japanese maple 2")


def test_the_label_goes_first(garden: Program) -> None:
    out = " ".join(garden("fertilize").out.split())
    assert "The label rate is the most, not the aim; water a dry pot first" in out


def test_why_tells_what_the_figures_rest_on(garden: Program) -> None:
    out = " ".join(garden("fertilize", "Japanese black pine 1", "--why").out.split())
    assert "Point of its year: new growth; its aim: structure." in out
    assert "Rests on: common practice (Boon Manakitivipart, Decandling" in out


def test_dates_reach_as_far_as_asked(garden: Program) -> None:
    near, far = (json.loads(garden("fertilize", "--weeks", weeks, "--json").out) for weeks in ("1", "12"))
    dates = [[day for step in one[0]["steps"] for day in step["dates"]] for one in (near, far)]
    assert dates[0] == dates[1][: len(dates[0])]
    assert max(dates[1]) > "2015-08-24"


def test_trade_words_only(garden: Program) -> None:
    shown = garden("fertilize", *FULL, "--cakes", "--why").out + garden("fertilize", "--help").out
    assert " feed " not in shown.lower()


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--label", "60-30-30"), "--label: '60-30-30': adds up to 120 %; right would be at most 100"),
        (("--label", "20-20"), "--label: found '20-20'; right would be three numbers as printed, such as 20-20-20"),
        (("--label", "a-b-c"), "--label: found 'a-b-c'; right would be three numbers as printed, such as 20-20-20"),
        (("--label", ""), "--label: found ''; right would be three numbers as printed, such as 20-20-20"),
        (("--label", "200-0-0"), "--label: '200-0-0': found 200 %; right would be 0 to 100"),
        (("--label", "20-20-20", "--can", "0"), "--can: found 0.0; right would be greater than 0"),
        (("--label", "20-20-20", "--can", "nan"), "--can: found nan; right would be at most 10000"),
        (("--label", "20-20-20", "--liquid", "0"), "--liquid: found 0.0; right would be at least 0.5"),
        (("--label", "20-20-20", "--rate", "5"), "--rate: found '5'; right would be a number and a unit such as 1 g/L: g/L, mL/L, g/gal, oz/gal, oz/100gal, mL/gal, fl oz/gal or tsp/gal"),
        (("--label", "20-20-20", "--rate", "0 g/L"), "--rate: found '0 g/L'; right would be a number and a unit such as 1 g/L: g/L, mL/L, g/gal, oz/gal, oz/100gal, mL/gal, fl oz/gal or tsp/gal"),
        (("--label", "20-20-20", "--rate", "5 mL/L"), "--rate by volume is for liquids; right would be --liquid with its density, such as 1.2, or a rate by weight"),
        (("--rate", "1 g/L"), "--rate goes with --label; right would be its three numbers too, such as 20-20-20"),
        (("--can", "10"), "--can goes with --label; right would be its three numbers too, such as 20-20-20"),
        (("--label", "0-10-10"), "--label: a product without nitrogen is measured by its label; right would be --rate as well"),
        (("Jap maple 1", "--label", "20-20-20"), "no tree 'Jap maple 1': the nearest are 'Japanese maple 1', 'Japanese maple 2', 'Satsuki azalea 1'"),
    ],
)  # fmt: skip
def test_what_cannot_be_meant_is_one_line(garden: Program, words: tuple[str, ...], line: str) -> None:
    before = rows()
    assert_refused(garden("fertilize", *words), line)
    assert rows() == before


def test_a_garden_without_trees(leafclock: Program) -> None:
    assert leafclock("start", "--place", "Seattle", "--trees", "", "--today", "2015-06-24").status == 0
    answer = leafclock("fertilize", "--today", "2015-06-24")
    assert (answer.status, answer.out) == (0, "There are no trees yet.\n")


def test_advice_writes_nothing(founded: Path, folder: Path) -> None:
    shutil.copy(founded, folder / "garden.db")
    before = rows()
    assert run("fertilize", "--today", "2015-06-24", *FULL).status == 0
    assert rows() == before


def test_plan_due_why_and_calendar_tell_the_strength_that_fertilize_tells(garden: Program) -> None:
    """A fine tree gets about half once its leaves are hard (Crataegus Bonsai, 2013), one that is built the full label."""
    garden("tree", "change", "Japanese maple 1", "--aim", "refinement", "--vigour", "4")
    garden("tree", "change", "Japanese maple 2", "--aim", "structure", "--vigour", "4")
    assert garden("calendar", "garden.ics", "--kind", "windows").status == 0
    events = icalendar.Calendar.from_ical(Path("garden.ics").read_bytes()).walk("VEVENT")
    for label, work, percent in (
        ("Japanese maple 1", "feeding gently", "50 %"),
        ("Japanese maple 2", "feeding", "100 %"),
    ):
        assert f"{percent} of the label's rate" in block(garden("fertilize").out, label)
        strength = f"Strength: {percent} of the label's rate."
        for words in (("plan", "--long"), ("why", label, work)):
            assert strength in " ".join(garden(*words).out.split()), words
        for page in ("plan", "due"):
            assert f"at {percent} rate" in line_of(garden(page).out, f"Fertilize[^:]*: {label}"), page
        (told,) = (
            str(one["description"])
            for one in events
            if str(one["summary"]).startswith("Fertilize")
            and label in str(one["summary"])
            and str(one.decoded("dtstart")) <= DAY
        )
        assert strength in told


def test_a_line_for_trees_that_get_different_strengths_tells_each(garden: Program) -> None:
    garden("tree", "change", "Japanese maple 1", "--aim", "trunk", "--vigour", "4")
    garden("tree", "change", "Japanese maple 2", "--aim", "structure", "--vigour", "2")
    plan = " ".join(garden("plan", "--long").out.split())
    told = "Strength: Japanese maple 1: 100 % of the label's rate; Japanese maple 2: 25 to 50 % of the label's rate."
    assert told in plan
    assert "at 25 to 100 % rate by tree" in line_of(garden("due").out, "Fertilize: Japanese maple 1 and")


def test_cakes_are_not_asked_for_again_before_they_are_used_up(garden: Program, folder: Path) -> None:
    """Cakes last six weeks while a tree is built (Bonsai Focus, July 2019), what is poured two (custom).

    Then their change is asked for, and nothing beside it.
    """
    garden("log", "Japanese maple 1", "feeding cakes", "2015-06-20")
    garden("log", "Japanese maple 2", "feeding", "2015-06-20")
    items = {
        (item["tree_id"], item["label"] or item["operation"]): item["opens"]["likely"]
        for item in json.loads(garden("plan", "--weeks", "9", "--json").out)["items"]
        if item["operation"] in ("feeding", "look") and item["cycle"] == 2015
    }
    trees = {label: tree for tree, label in json.loads(garden("plan", "--json").out)["trees"].items()}
    assert items[trees["Japanese maple 1"], "Change the fertilizer cakes"] == "2015-08-01"
    assert (trees["Japanese maple 1"], "feeding") not in items
    assert items[trees["Japanese maple 2"], "feeding"] == "2015-07-04"
