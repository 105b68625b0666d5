"""Spacing on the command line: a note at the log, an order at ``what-if``; nothing is forbidden and nothing lost."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from tests.app.conftest import Answer, Program

pytestmark = pytest.mark.slow

MAPLE = "Japanese maple 1"


def logged(garden: Program) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(garden("log", MAPLE, "--json").out)
    return [entry["data"] for entry in found if entry["kind"] == "work"]


def words(answer: Answer) -> str:
    return " ".join(answer.out.split())


@pytest.fixture
def repotted(garden: Program) -> Program:
    """The garden, its first maple repotted in March."""
    assert "Note" not in garden("log", MAPLE, "repot", "2015-03-10").out
    return garden


def test_work_too_soon_is_noted_and_written_down_with_its_warnings(repotted: Program) -> None:
    said = repotted("log", MAPLE, "structural prune", "2015-05-01")
    assert (said.status, said.err) == (0, "")
    assert f"Note, {MAPLE}: Not recovered from repot (10 March) until about " in said.out
    assert f"Note, {MAPLE}: With it the work of its cycle weighs 6; a tree of this vigour bears 3." in words(
        said
    )
    assert [data.get("against") for data in logged(repotted)] == [None, ["not_recovered", "over_budget"]]
    why = "in spite of a warning: not recovered from earlier work, more work than it bears in a cycle"
    for listed in (("log", MAPLE), ("history", MAPLE)):
        assert f"Structural pruning, {why}" in words(repotted(*listed))


def test_light_work_and_work_in_good_time_are_not_noted(repotted: Program) -> None:
    for work in (("pinch",), ("cut back",), ("cut back", "2015-05-01", "--share", "20%")):
        assert "Note" not in repotted("log", MAPLE, *work).out
    assert all("against" not in data for data in logged(repotted))
    assert "weighs 4" in words(repotted("log", MAPLE, "cut back", "--share", "60%"))


def test_trees_that_share_a_warning_share_its_line(repotted: Program) -> None:
    repotted("log", "Japanese maple 2", "repot", "2015-03-10")
    said = words(repotted("log", "Japanese maples", "wire", "2015-03-20"))
    assert "Note, Japanese maple 1 and Japanese maple 2: Keep four weeks from repot (10 March). " in said
    assert said.count("Bending tears at roots that have no hold.") == 1


def test_pasted_lines_tell_what_went_against_a_warning(repotted: Program) -> None:
    Path("evening.txt").write_text(f"{MAPLE}: wire; on=2015-03-20\n{MAPLE}: cut back\n", encoding="utf-8")
    said = words(repotted("log", "--lines", "evening.txt"))
    assert said == (
        f"2 entries written. {MAPLE}: Wired, in spite of a warning: too soon after other work, "
        "more work than it bears in a cycle. Ask before you work, with: leafclock what-if"
    )


def test_what_is_never_done_is_kept_with_its_warning(garden: Program) -> None:
    pine = "Japanese black pine 1"
    refused = garden("log", pine, "full defoliation")
    assert (refused.status, len(refused.err.splitlines())) == (2, 1)
    assert garden("log", pine, "full defoliation", "--yes").status == 0
    found = json.loads(garden("log", pine, "--json").out)
    assert [e["data"]["against"] for e in found if e["kind"] == "work"] == [["never"]]


def test_a_part_that_is_to_grow_on_is_noted_when_it_is_cut(garden: Program) -> None:
    for name, directive in (("new leader", "grow free"), ("low left", "keep as backup"), ("right", "hold")):
        garden("part", "add", MAPLE, "branch", name, "2015-06-01", "--directive", directive)
    cut = ("log", MAPLE, "cut back")
    said = garden(*cut, "--part", "new leader", "--part", "low left", "--part", "right")
    assert (said.status, said.err) == (0, "")
    assert f"Note, {MAPLE}: new leader is to grow free.\n" in said.out
    assert f"Note, {MAPLE}: low left is kept as a backup.\n" in said.out
    assert said.out.count("Note") == 2
    assert [data["against"] for data in logged(garden)] == [["grows_free", "kept_backup"]]
    assert "in spite of a warning: a part that is to grow free, a part kept as a backup" in words(
        garden("log", MAPLE)
    )


@pytest.mark.parametrize(
    "work",
    [("wire",), ("sever graft",), ("cut back", "2015-05-01")],
    ids=["takes nothing", "what it grew for", "before it was said"],
)
def test_other_work_on_a_part_that_grows_free_is_not_noted(garden: Program, work: tuple[str, ...]) -> None:
    garden("part", "add", MAPLE, "graft", "low right", "2015-06-01", "--directive", "grow free")
    assert "grow free" not in garden("log", MAPLE, *work, "--part", "low right").out


def test_an_answer_is_noted_too(repotted: Program) -> None:
    repotted("log", "Japanese maple 2", "thread graft", "2015-03-01")
    repotted("log", "Japanese maple 2", "wire", "2015-03-01")
    repotted(
        "wish", "Japanese maple 2", "structural prune"
    )  # of itself the plan asks for nothing over the budget
    items = json.loads(repotted("plan", "--all", "--json").out)
    name = next(
        item["id"]
        for item in items["items"]
        if item["operation"] == "structural prune" and items["trees"][item["tree_id"]] == "Japanese maple 2"
    )
    said = words(repotted("answer", name, "Pruned"))
    assert (
        "Note, Japanese maple 2: With it the work of its cycle weighs 5; a tree of this vigour bears 3."
        in said
    )


def test_what_if_proposes_an_order_and_tells_what_the_choice_costs(garden: Program) -> None:
    garden("log", MAPLE, "repot", "2012-03-10")  # due again next spring
    before = Path("garden.db").read_bytes()
    severed = ("what-if", "--tree", MAPLE, "--do", "sever graft", "--on")
    soon, late = words(garden(*severed, "2015-08-20")), words(garden(*severed, "2016-02-20"))
    assert f"Spacing, {MAPLE} The work of this cycle weighs 0; a tree of this vigour bears 3." in soon
    assert "20 August Sever the graft." in soon
    assert "Against this order your choice makes no other work wait." in soon
    assert "Not in one cycle with repot (" in late
    assert "Against this order your choice costs: repot waits a year longer." in late
    assert soon.endswith("Nothing is saved.")
    assert Path("garden.db").read_bytes() == before


def test_what_if_as_data_has_the_order_of_each_tree(repotted: Program) -> None:
    asked = repotted("what-if", "--tree", MAPLE, "--do", "structural prune", "--on", "2015-07-01", "--json")
    (found,) = json.loads(asked.out)["spacing"].values()
    assert set(found) == {"against", "best", "chosen", "cost"}
    assert [reason["code"] for reason in found["against"]] == ["over_budget"]
    assert {placed["operation"] for placed in found["best"]["placed"]} == {"structural prune"}


def test_before_a_cut_the_card_warns(repotted: Program) -> None:
    assert "With it the work of its cycle weighs 6" in words(repotted("before", MAPLE, "structural prune"))
