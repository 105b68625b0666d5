"""An evening's work pasted in at once: all of it is written, or nothing is."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.app.test_bad_input import assert_refused, rows

if TYPE_CHECKING:
    from tests.app.conftest import Program

EVENING = """\
Japanese maple 1: structural prune; @back stub; width=14; height=90; share=40%
Japanese maple 1: apex; @new leader; height=180; grow free
Japanese maple 1: branch; @first right; undecided; decide by=leaf fall
Japanese maple 1: branch; @second left; hold; pairs=1
Japanese maple 1: dieback; @dry strip; watch; dry=12

Japanese maple 1, Japanese maple 2: cut back; regret=too hard on the weak side; on=2015-06-20
Japanese maple 2: saw bud break; on=2015-03-14
Japanese maple 1: measured; @new leader; diameter=6
"""


@pytest.mark.parametrize("way", ["file", "typed"])
def test_everything_is_written_with_its_parts_and_numbers(garden: Program, way: str) -> None:
    Path("evening.txt").write_text(EVENING, encoding="utf-8")
    source, typed = ("evening.txt", "") if way == "file" else ("-", EVENING)
    assert garden("log", "--lines", source, typed=typed).out.startswith("10 entries written.")
    parts = {
        part["name"]: part for part in json.loads(garden("part", "list", "--json").out)["Japanese maple 1"]
    }
    assert {name: part["directive"] for name, part in parts.items()} == {
        "back stub": "no directive", "new leader": "grow free", "first right": "undecided", "second left": "hold",
        "dry strip": "watch",
    }  # fmt: skip
    assert [m["value"] for m in parts["back stub"]["measures"]] == [14]
    assert [m["value"] for m in parts["new leader"]["measures"]] == [6]
    assert (parts["second left"]["pairs"], parts["first right"]["decide_by"]) == (1, "leaf_fall")


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ("Japanese maple 1 cut back", "line 2"),
        ("Japanese maple 9: cut back", "line 2"),
        ("Japanese maple 1: shave", "line 2"),
        ("Japanese maple 1: cut back; share=140%", "line 2"),
        ("Japanese maple 1: cut back; depth=3", "line 2"),
        ("Japanese maple 1: branch; undecided", "line 2"),
        ("Japanese maple 1: cut back; on=2015-06-25", "line 2"),
        ("Japanese maple 1: saw shooting stars", "line 2"),
        ("Japanese maple 1: measured; @old stub; width=3", "line 2"),
    ],
)
def test_one_fault_and_nothing_is_written(garden: Program, wrong: str, told: str) -> None:
    before = rows()
    answer = garden("log", "--lines", "-", typed=f"Japanese maple 2: wire\n{wrong}\n")
    assert answer.status == 2
    assert told in answer.err
    assert "right would be" in answer.err or "the nearest are" in answer.err
    assert len(answer.err.splitlines()) == 1
    assert rows() == before


def test_no_such_file(garden: Program) -> None:
    answer = garden("log", "--lines", "gone.txt")
    assert answer.status == 2
    assert answer.err.startswith("leafclock: gone.txt")


def test_a_measurement_that_goes_the_wrong_way_is_asked_about_and_kept_if_meant(garden: Program) -> None:
    garden("log", "--lines", "-", typed=EVENING)
    assert_refused(
        garden("measure", "Japanese maple 1", "back stub", "width=20"),
        "back stub: width 20 is more than the 14 of 2015-06-24; if that is what you measured, say so with --yes",
    )
    assert garden("measure", "Japanese maple 1", "back stub", "width=20", "--yes").status == 0
    (stub,) = [
        p
        for p in json.loads(garden("part", "list", "--json").out)["Japanese maple 1"]
        if p["name"] == "back stub"
    ]
    assert [m["value"] for m in stub["measures"]] == [14, 20]


def test_a_measurement_written_late_is_compared_with_those_around_it(garden: Program) -> None:
    wound = ("measure", "Japanese maple 1", "back stub")
    garden("log", "Japanese maple 1", "structural prune", "2014-05-01", "--part", "back stub")
    for day, width in (("2014-06-01", 18), ("2015-06-20", 12)):
        assert garden(*wound, f"width={width}", "--on", day).status == 0
    assert garden(*wound, "width=17", "--on", "2015-03-01").status == 0
    sure = "if that is what you measured, say so with --yes"
    assert_refused(
        garden(*wound, "width=19", "--on", "2015-03-02"),
        f"back stub: width 19 is more than the 17 of 2015-03-01; {sure}",
    )
    assert_refused(
        garden(*wound, "width=11", "--on", "2015-03-02"),
        f"back stub: width 11 is less than the 12 of 2015-06-20; {sure}",
    )


def test_a_tree_that_lost_a_third_of_its_height_uncut_is_asked_about(garden: Program) -> None:
    tall = ("measure", "Japanese maple 1")
    assert garden(*tall, "height=200").status == 0
    assert_refused(
        garden(*tall, "height=20"),
        "Japanese maple 1: height 20 is less than the 200 of 2015-06-24, and no cut is written down between; "
        "if that is what you measured, say so with --yes",
    )
    assert garden(*tall, "height=140").status == 0  # a little off the top is not asked about
    assert garden(*tall, "height=30", "--yes").status == 0
    assert garden(*tall, "height=140").status == 0
    garden("log", "Japanese maple 1", "structural prune")
    assert garden(*tall, "height=60").status == 0


def test_a_note_may_be_named(garden: Program, folder: Path) -> None:
    (folder / "lines.txt").write_text("Japanese maple 1: cut back; note=wind had torn it", encoding="utf-8")
    assert garden("log", "--lines", "lines.txt").status == 0
    assert "wind had torn it" in garden("history", "Japanese maple 1").out


def test_the_day_may_be_an_option(garden: Program) -> None:
    assert garden("log", "Japanese maple 1", "cut back", "--on", "2015-06-20").status == 0
    assert garden("part", "add", "Japanese maple 1", "branch", "low", "--on", "2015-06-21").status == 0
    told = garden("history", "Japanese maple 1").out
    assert "20 Jun" in told
    assert "21 Jun" in told


def test_a_part_is_not_measured_before_it_is_followed(garden: Program) -> None:
    garden("part", "add", "Japanese maple 1", "wound", "scar", "2015-06-01")
    refused = garden("measure", "Japanese maple 1", "scar", "width=20", "--on", "2015-05-01")
    assert_refused(
        refused, "scar is followed since 2015-06-01; right would be a day from then on, not 2015-05-01"
    )
