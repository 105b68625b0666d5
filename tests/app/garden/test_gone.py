"""A tree that is gone: nothing is asked of it any more on any screen, and what was written of it can be read."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from calendar_core.app.shell.session import open_session
from calendar_core.storage import log
from tests.app.conftest import DAY, run
from tests.app.one_truth import findings
from tests.app.shapes import SHAPES
from tests.app.test_bad_input import rows

if TYPE_CHECKING:
    from tests.app.conftest import Answer, Program

pytestmark = pytest.mark.slow

MAPLE, OTHER, FIG = "Japanese maple 1", "Japanese maple 2", "Tropical fig 1"
WENT, LATER = "2015-07-01", "2015-07-10"


@pytest.fixture
def later(garden: Program) -> Program:
    """Give the function that runs the program in the founded garden two weeks on."""
    return lambda *words, typed="": run(*words, "--today", LATER, typed=typed)


def refused(answer: Answer, *words: str) -> None:
    """One line on the error output that holds some words, and nothing else."""
    assert (answer.status, answer.out, len(answer.err.splitlines())) == (2, "", 1)
    for word in words:
        assert word in answer.err


def go(garden: Program, *more: str, tree: str = MAPLE) -> str:
    """Let a tree go; return the name of the entry."""
    said = garden("tree", "gone", tree, "--why", "died", *more)
    assert (said.status, said.err) == (0, "")
    return said.out.split()[-1].strip(".")


def data(garden: Program, *words: str) -> Any:
    return json.loads(garden(*words, "--json").out)


def test_no_screen_names_it(garden: Program) -> None:
    assert MAPLE in garden("due").out
    assert garden("calendar", "bench.ics", "--kind", "windows").status == 0
    go(garden, "--note", "root rot")
    screens = (
        ("due",), ("plan", "--all"), ("tree", "list"), ("stages",), ("rota",), ("fertilize",), ("repotting",),
        ("sitter", "2015-08-01", "2015-08-14"), ("warn", "--dry-run"), ("part", "list"),
    )  # fmt: skip
    for words in screens:
        said = garden(*words)
        assert (said.status, said.err) == (0, ""), words
        assert MAPLE not in said.out, words
    assert OTHER in garden("due").out
    assert garden("away", "2015-08-01", "2015-08-14").status == 0
    assert [str(one) for one in findings(open_session("garden.db", None, date.fromisoformat(DAY)))] == []
    assert garden("calendar", "bench.ics", "--kind", "windows").status == 0
    assert MAPLE not in Path("bench.ics").read_text(encoding="utf-8").replace("\r\n ", "").replace("\n ", "")


def test_of_all_trees_gone_the_calendar_is_empty_and_nothing_is_asked_to_be_confirmed(
    garden: Program,
) -> None:
    """The guard against losing many events is for faults, not for what the grower said."""
    assert garden("calendar", "bench.ics", "--kind", "windows").status == 0
    assert "BEGIN:VEVENT" in Path("bench.ics").read_text(encoding="utf-8")
    go(garden, tree="all")
    said = garden("calendar", "bench.ics", "--kind", "windows")
    assert (said.status, said.err) == (0, "")
    assert "BEGIN:VEVENT" not in Path("bench.ics").read_text(encoding="utf-8")
    for words in (("due",), ("plan",), ("tree", "list"), ("rota",), ("stages",), ("part", "list"), ("warn",)):
        assert garden(*words).status == 0, words


def test_its_log_and_history_stay_and_say_since_when_it_is_gone(later: Program) -> None:
    assert later("log", MAPLE, "wire", "2015-06-30", "--part", "low left").status == 0
    entry = go(later, "--on", "2015-07-01", "--note", "root rot")
    for words in (("history", MAPLE), ("log", MAPLE), ("log",)):
        said = " ".join(later(*words).out.split())
        assert "Wired, low left" in said, words
        assert "gone: died (root rot)" in said, words
    assert "Gone since 1 July: died (root rot)." in later("tree", "show", MAPLE).out
    assert "low left" in later("part", "list", MAPLE).out
    listed = later("tree", "list", "--gone").out.split()
    assert listed == [*MAPLE.split(), *["Japanese", "maple", "2015-07-01", "died", "root", "rot"]]
    SHAPES["tree list --gone"].validate_json(later("tree", "list", "--gone", "--json").out)
    (told,) = data(later, "tree", "list", "--gone")
    assert (told["tree"]["label"], told["gone"]["on"], told["gone"]["why"]) == (MAPLE, "2015-07-01", "died")
    assert told["gone"]["entry"].startswith(entry)
    (shown,) = data(later, "tree", "show", MAPLE)
    assert (shown["items"], shown["stages"], shown["gone"]) == ([], [], told["gone"])
    assert MAPLE not in run("due", "--today", WENT).out
    assert MAPLE in run("due", "--today", "2015-06-30").out
    assert MAPLE not in later("due").out


def test_its_void_brings_it_back_with_its_lines_and_events(garden: Program) -> None:
    garden("calendar", "bench.ics", "--kind", "windows")
    before = data(garden, "due")
    entry = go(garden)
    garden("calendar", "bench.ics", "--kind", "windows")
    assert data(garden, "due") != before
    assert garden("log", "--void", entry).status == 0
    assert data(garden, "due") == before
    assert "No tree is gone." in garden("tree", "list", "--gone").out
    assert garden("calendar", "bench.ics", "--kind", "windows").status == 0
    assert MAPLE in Path("bench.ics").read_text(encoding="utf-8").replace("\n ", "")


@pytest.mark.parametrize(
    "words",
    [
        ("log", MAPLE, "feeding", "2015-07-02"),
        ("seen", MAPLE, "leaf fall", "2015-07-02", "--yes"),
        ("part", "add", MAPLE, "wound", "low", "2015-07-02"),
        ("measure", MAPLE, "height=400"),
        ("wish", MAPLE, "repot"),
        ("tree", "change", MAPLE, "--vigour", "2"),
        ("tree", "gone", MAPLE, "--why", "sold"),
        ("before", MAPLE, "cut back"),
        ("what-if", "--tree", MAPLE, "--do", "cut back"),
        ("show", MAPLE, "2015-10-01"),
    ],
)
def test_what_is_written_of_it_for_later_days_is_refused(later: Program, words: tuple[str, ...]) -> None:
    entry = go(later, "--on", "2015-07-01")
    before = rows()
    answer = later(*words)
    told = f"{MAPLE} is gone since {WENT}: died; right would be a"
    refused(answer, told, f"leafclock log --void {entry}")
    assert rows() == before


def test_what_happened_before_can_still_be_written_down(later: Program) -> None:
    go(later, "--on", "2015-07-01")
    for words in (
        ("log", MAPLE, "structural prune", "2015-07-01", "--part", "stub"),
        ("seen", MAPLE, "bud break", "2015-03-20"),
        ("part", "add", MAPLE, "branch", "low", "2015-07-01"),
        ("measure", MAPLE, "stub", "width=9", "--on", "2015-07-01"),
        ("tree", "change", MAPLE, "--vigour", "1", "--day", "2015-07-01"),
    ):
        said = later(*words)
        assert (said.status, said.err) == (0, ""), words
    lines = later("log", "--lines", "-", typed=f"{MAPLE}: feeding; on=2015-06-30\n{MAPLE}: feeding\n")
    refused(lines, "line 2: ")
    assert MAPLE not in later("due").out


def test_a_day_that_cannot_be_is_refused(later: Program) -> None:
    assert later("log", MAPLE, "feeding", "2015-06-30").status == 0
    before = rows()
    for words, told in (
        (("--on", "2015-06-29"), f"{MAPLE} was still there on 2015-06-30"),
        (("--on", "2015-07-11"), "2015-07-11"),
    ):
        answer = later("tree", "gone", MAPLE, "--why", "died", *words)
        refused(answer, told)
    answer = later("tree", "gone", MAPLE, "--why", "eaten")
    refused(answer, "--why", "'died', 'sold' or 'given away'")
    assert rows() == before


def test_its_label_is_not_given_to_another(garden: Program) -> None:
    go(garden)
    refused(
        garden("tree", "add", "black pine", "--label", MAPLE.upper()), "is that of another tree of the garden"
    )
    added = garden("tree", "add", "Japanese maple")
    assert "Japanese maple 3" in added.out


def test_export_and_import_carry_it(garden: Program) -> None:
    go(garden)
    assert run("export", "out", "--exact").status == 0
    assert run("import", "out", "--db", "other.db").status == 0
    listed = run("tree", "list", "--gone", "--db", "other.db", "--today", DAY).out
    assert listed == garden("tree", "list", "--gone").out
    assert MAPLE in listed
    text = Path("out/log.csv").read_text(encoding="utf-8-sig")
    Path("out/log.csv").write_text(text.replace('""died""', '""eaten""'), encoding="utf-8")
    answer = run("import", "out", "--db", "third.db")
    refused(answer, "data.why: found 'eaten'; right would be one of: died, sold, given away")


def test_due_reads_no_log_to_know_who_is_gone(garden: Program, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a garden of 3,000 trees the whole log takes seconds."""
    go(garden, tree=FIG)
    assert garden("due").status == 0  # plans, and keeps it

    def whole(*said: Any, **more: Any) -> Any:
        assert more.get("trees") == (), "the whole log is read"
        return entries(*said, **more)

    entries = log.entries
    monkeypatch.setattr(log, "entries", whole)
    said = garden("due")
    assert (said.status, FIG in said.out) == (0, False)
