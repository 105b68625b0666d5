"""The work list that fits the grower's hours, and writing those down."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from calendar_core.app.shell import quiet
from calendar_core.app.work.free_time import minutes_of, week_of
from calendar_core.wording.plan.rota_text import week_words
from calendar_core.wording.style import Style
from tests.app.test_bad_input import assert_refused, rows

if TYPE_CHECKING:
    from tests.app.conftest import Program

SUCH_AS = "'Sat 9:00-12:00, Sun 2h, Mon-Fri 20min'"
TIME = "right would be such as 3h, 1h 30min, 20min or 9:00-12:00"


def data(garden: Program, *words: str) -> dict[str, Any]:
    found = garden("rota", "--json", *words)
    assert (found.status, found.err) == (0, "")
    return dict(json.loads(found.out))


def test_the_list_fits_the_free_time_of_every_day(garden: Program) -> None:
    rota = data(garden)
    assert rota["usual_hours"]
    assert len(rota["days"]) == 28
    assert [day["free"] for day in rota["days"][:5]] == [20, 20, 20, 120, 120]  # from a Wednesday on
    for day in rota["days"]:
        assert sum(work["minutes"] for work in day["work"]) <= day["free"]
        assert all(work["first"] <= day["day"] <= work["last"] for work in day["work"])
    assert any(day["work"] for day in rota["days"])


def test_the_page_goes_day_by_day_and_says_that_the_hours_are_a_guess(garden: Program) -> None:
    page = " ".join(garden("rota").out.split())
    assert "Free: Monday to Friday 20 min, Saturday to Sunday 2 h. That is a guess; write yours with:" in page
    assert "Saturday, 27 June 2015: " in page


def test_written_hours_and_days_away_shape_the_list(garden: Program) -> None:
    said = garden("hours", "Sat 1h 30min, Mon-Fri 0")
    assert said.out.startswith("Free: Monday to Friday none, Saturday 1 h 30 min, Sunday none. Entry ")
    assert garden("away", "2015-07-01", "2015-07-12").out.startswith("Away: 1 July to 12 July. Entry ")
    rota = data(garden)
    assert not rota["usual_hours"]
    assert {day["day"] for day in rota["days"] if day["free"]} == {"2015-06-27", "2015-07-18"}
    assert garden("hours").out.splitlines() == [
        "Free: Monday to Friday none, Saturday 1 h 30 min, Sunday none.",
        "Away: 1 July to 12 July.",
    ]


def test_without_any_time_everything_is_told_with_what_it_costs(garden: Program) -> None:
    garden("hours", "Mon 0")
    rota = data(garden)
    assert not any(day["work"] for day in rota["days"])
    assert rota["left"]
    assert {left["why"] for left in rota["left"]} <= {"too long", "can wait"}
    costs = [left["cost"] for left in rota["left"]]
    assert costs == sorted(costs, reverse=True)
    assert all((left["cost"] > 0) == (left["why"] == "too long") for left in rota["left"])
    page = " ".join(garden("rota").out.split())
    assert "No work is due that fits into these weeks. Does not fit: no day of its window has enough" in page
    assert page.count("Does not fit") == 1
    assert "; missed, it comes again about" in page


def test_what_is_called_the_same_is_left_out_in_one_line(garden: Program) -> None:
    garden("hours", "Mon 0")
    left = [line.strip() for line in garden("rota", "--weeks", "8").out.splitlines()]
    for name in ("Fertilize: ", "Look for spider mites: "):
        assert sum(line.startswith(name) for line in left) == 1


@pytest.mark.slow
def test_a_tree_is_not_given_more_than_it_bears(garden: Program) -> None:
    def given(tree: str) -> set[str]:
        """Its cuts that have a day."""
        work = [one for day in data(garden)["days"] for one in day["work"] if tree in one["tree_ids"]]
        return {one["operation"] for one in work} & {"cut back", "structural prune"}

    maple = next(tree for tree, label in data(garden)["trees"].items() if label == "Japanese maple 1")
    assert given(maple) == {"cut back", "structural prune"}
    garden("log", "Japanese maple 1", "cut back", "2014-06-20", "--share", "0.6")  # so it weighs something
    assert given(maple) == {"structural prune"}
    left = [one for one in data(garden)["left"] if one["why"] == "beside"]
    assert [(one["operation"], one["tree_ids"]) for one in left] == [("cut back", [maple])]
    page = " ".join(garden("rota").out.split())
    assert (
        "Does not fit: too much for a tree beside its other work Cut back: Japanese maple 1, 20 min" in page
    )
    assert "; beside Structural pruning; missed, it comes again about" in page


def test_an_entry_is_undone_like_any_other(garden: Program) -> None:
    named = garden("hours", "Sat 3h").out.rstrip(".\n").rpartition(" ")[2]
    assert garden("log", "--void", named).status == 0
    assert json.loads(garden("hours", "--json").out)["usual"]


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("hours", "Sat 30h"), "'30h' is longer than a day; right would be at most 24h"),
        (("hours", "Foo 2h"), "'Foo' is no day of the week; right would be one of Mon, Tue, Wed, Thu, Fri, Sat, Sun"),
        (("hours", "Sat"), f"'Sat' is not days and a time; right would be such as {SUCH_AS}"),
        (("hours", ""), f"'' is not days and a time; right would be such as {SUCH_AS}"),
        (("hours", "Sat soon"), f"'soon' is not a time; {TIME}"),
        (("hours", "Sat -2h"), f"'-2h' is not a time; {TIME}"),
        (("hours", "Sat 2h, Fri-Sun 1h"), "Saturday stands twice; right would be one time for each day"),
        (("away", "2015-07-03", "2015-07-01"), "away from 2015-07-03 until 2015-07-01; right would be an end on or after the beginning"),
        (("away", "2015-07-32", "2015-08-01"), "'2015-07-32' is not a day; right would be year-month-day, such as 2015-06-24"),
    ],
)  # fmt: skip
def test_bad_input_is_one_line_and_nothing_is_written(
    garden: Program, words: tuple[str, ...], line: str
) -> None:
    before = rows()
    assert_refused(garden(*words), line)
    assert rows() == before


def test_times_and_weeks_as_typed() -> None:
    assert [minutes_of(text) for text in ("3h", "1.5 h", "1h30min", "1H 30 MIN", "20min", "0", "24h")] == [
        180, 90, 90, 90, 20, 0, 1440,
    ]  # fmt: skip
    assert week_of("friday-monday 1h, tue 5min") == [60, 5, 0, 0, 60, 60, 60]
    assert week_words(Style(), [0] * 7) == "Monday to Sunday none"


def test_what_a_library_prints_stays_out(tmp_path: Path) -> None:
    script = tmp_path / "loud.py"
    script.write_text(
        "import ctypes, sys\n"
        "from calendar_core.app.shell.quiet import quiet_library\n"
        "print('before', flush=True)\n"
        "with quiet_library():\n"
        "    ctypes.CDLL(None).puts(b'noise')\n"
        "print('after')\n",
        encoding="utf-8",
    )
    import subprocess

    told = subprocess.run(
        [sys.executable, str(script)], capture_output=True, text=True, check=True, cwd=Path.cwd(),
        env={**os.environ, "PYTHONPATH": str(Path(quiet.__file__).parents[3])},
    )  # fmt: skip
    assert told.stdout.splitlines() == ["before", "after"]
