"""``review summary``: two invented years beside each other, and how good dates were, by plans made again as of then."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from calendar_core.app.review.summary import summary
from calendar_core.app.shell.session import open_session
from tests.app.conftest import run
from tests.app.review.two_years import BUD_BREAK, LOST, MAPLES, NAME, TODAY, lived, stored
from tests.app.stored_bench import keep
from tests.app.test_bad_input import assert_refused
from tests.planning.made_up import bench_on_normals

if TYPE_CHECKING:
    from tests.app.conftest import Answer, Program

pytestmark = pytest.mark.slow


def asked(database: Path, *words: str) -> Answer:
    return run("review", "summary", *words, "--db", str(database), "--today", str(TODAY))


def data(database: Path) -> Any:
    answer = asked(database, "--json")
    assert (answer.status, answer.err) == (0, "")
    return json.loads(answer.out)


@pytest.fixture
def two_years(tmp_path: Path) -> Path:
    return stored(tmp_path / "garden.db")


def test_two_years_by_hand(two_years: Path) -> None:
    """From 23 November 2014 to 22 November 2015 the low cut went from 18 to 15 mm, the high one from 4 to none."""
    found = data(two_years)
    this, before = found["this"], found["before"]
    paces = {pace["height"]: pace["mm_a_year"] for pace in this["paces"]}
    assert paces == pytest.approx({"low": 3 / 364 * 365.25, "top": 4 / 364 * 365.25})
    assert before["paces"] == []  # measured in one autumn alone
    assert (this["wounds_closed"], this["wounds_open"], before["wounds_open"]) == (1, 1, 2)
    assert (this["grafts_measured"], this["grafts_taken"], before["grafts_taken"]) == (1, 1, 0)
    (loss,) = this["losses"]
    assert (found["trees"][loss["tree_id"]], [done["operation"] for done in loss["before"]]) == (
        LOST,
        ["repot", "wire"],
    )
    assert this["vigour"] == {"up": 1, "same": 5, "down": 1}
    assert before["vigour"] == {"up": 0, "same": 8, "down": 0}
    assert this["looks"] == {"trees": 5, "looks": 10, "minutes": 72.0, "counted": 8}
    assert this["dates"]["n"] == before["dates"]["n"] == 3


def test_dates_are_those_that_the_plan_of_thirty_days_before_told(two_years: Path) -> None:
    found = data(two_years)
    for year, seen in BUD_BREAK.items():
        day = seen - timedelta(days=30)
        stages = json.loads(run("stages", "--json", "--db", str(two_years), "--today", str(day)).out)
        errors = []
        for label in MAPLES[:3]:
            told = [stage for stage in stages[label] if stage["stage"] == "bud_break" and stage["range"]]
            likely = min(
                (told_ for told_ in told if not told_["seen"]),
                key=lambda told_: abs(
                    int(told_["range"]["likely"][:4]) * 12 + int(told_["range"]["likely"][5:7])
                    - seen.year * 12 - seen.month
                ),
            )["range"]["likely"]  # fmt: skip
            errors.append((type(seen).fromisoformat(likely) - seen).days)
        told_errors = found["this" if year == TODAY.year else "before"]["errors"]
        assert told_errors == sorted(errors)


def test_what_was_seen_later_was_not_known_then(tmp_path: Path) -> None:
    """Without the log after that day its plan told the same: the summary does not look ahead."""
    whole, cut = tmp_path / "whole.db", tmp_path / "cut.db"
    keep(lived(), whole, NAME)
    bench = lived()
    bench.entries = [entry for entry in bench.entries if entry.happened <= BUD_BREAK[2014]]
    keep(bench, cut, NAME)
    session = open_session(str(cut), None, BUD_BREAK[2014])
    assert list(summary(session).this.errors) == data(whole)["before"]["errors"]


def test_a_first_year_has_none_before_it(tmp_path: Path) -> None:
    bench = bench_on_normals("Nagano")
    bench.tree("Maple 1", "acer-palmatum", since=TODAY - timedelta(days=90), vigour=4)
    bench.write(
        TODAY,
        "review",
        "Maple 1",
        round="after leaf fall",
        cycle=2016,
        depth="full",
        minutes=12.0,
        answers={},
    )
    keep(bench, tmp_path / "garden.db", "first")
    answer = asked(tmp_path / "garden.db")
    assert "The first year: nothing is written down of the one before." in answer.out
    assert "year before" not in answer.out
    assert "12 min" in answer.out
    assert asked(tmp_path / "garden.db", "--html", str(tmp_path / "year.html")).status == 0
    assert "year before" not in (tmp_path / "year.html").read_text(encoding="utf-8")


def test_an_empty_garden_has_nothing_to_tell(tmp_path: Path) -> None:
    keep(bench_on_normals("Nagano"), tmp_path / "garden.db", "empty")
    answer = asked(tmp_path / "garden.db")
    assert (answer.status, answer.out.splitlines()[1]) == (0, "Nothing is written down of the past year.")
    assert asked(tmp_path / "garden.db", "--html", str(tmp_path / "year.html")).status == 0


def test_us_gardens_read_inches_and_print_on_letter(tmp_path: Path) -> None:
    database = stored(tmp_path / "garden.db", "us")
    assert "0.12 in a year (1)" in asked(database).out
    page = tmp_path / "year.html"
    assert asked(database, "--html", str(page)).out.startswith(str(page))
    assert "size: letter" in page.read_text(encoding="utf-8")
    assert asked(database, "--html", str(page), "--paper", "A4").status == 0
    assert "size: a4" in page.read_text(encoding="utf-8")


def test_bad_words_leave_no_file(garden: Program) -> None:
    assert_refused(
        garden("review", "summary", "--html", "year.html", "--paper", "a3"),
        "--paper 'a3': right would be a4 or letter",
    )
    assert not Path("year.html").exists()
    answer = garden("review", "summary", "--html", "garden.db/year.html")
    assert answer.status == 2
    assert "cannot be written" in answer.err
