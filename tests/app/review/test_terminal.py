"""Entering at a terminal, tree by tree, broken off and gone on with in the next week."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import pytest

from calendar_core.app.review.commands.terminal import keys_of
from tests.app.conftest import run
from tests.app.review.typing_at import PROGRAM, ROOT, Typist, at_terminal

if TYPE_CHECKING:
    from pathlib import Path

WALK, WEEK_LATER = "2015-09-20", "2015-09-27"
FIRST, SECOND = "Maple 5", "Fig 1"  # a concern, then what goes under cover soon


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the demo garden as it stands two days before the walk."""
    out = tmp_path_factory.mktemp("bench")
    assert run("demo", "--out", str(out), "--today", "2015-09-18").status == 0
    return out / "garden.db"


@pytest.fixture
def database(bench: Path, folder: Path) -> Path:
    shutil.copy(bench, folder / "garden.db")
    return folder / "garden.db"


def log(tree: str) -> list[dict[str, Any]]:
    found = run("log", tree, "--json", "--today", "2015-10-01")
    return [entry for entry in json.loads(found.out) if entry["happened"] >= WALK]


def of_kind(kind: str, tree: str) -> list[dict[str, Any]]:
    return [entry["data"] for entry in log(tree) if entry["kind"] == kind]


def _answer(typist: Typist, answers: dict[str, str], last: str) -> list[str]:
    """Answer questions by a word of theirs, the others with Enter, up to one; return what was asked."""
    asked = [""]
    while last not in asked[-1]:
        asked.append(typist.asked())
        typist.press(next((keys for word, keys in answers.items() if word in asked[-1]), "\r"))
    return asked[1:]


def test_a_walk_at_a_terminal_broken_off_and_gone_on_with_next_week(database: Path) -> None:
    words = ("review", "enter", "--today", WALK, "--db", str(database))
    with at_terminal(*words, folder=database.parent) as typist:
        typist.sees(f"{FIRST}: 12 questions, full look.")
        asked = _answer(typist, {"seconds": "25\r", "Pot whole": "g", "Free of weeds": "x"}, "Free of weeds")
        assert asked[0] == "Half a litre poured on: seconds until no more stands on top (s): "
        typist.sees("One of g, b.")
        assert typist.asked().startswith("Free of weeds")
        typist.press("b")
        asked = _answer(typist, {"Vigour": "2", "Strength": "w"}, "Note")
        assert "Strength beside the low branches (s too strong, e even, w too weak): " in asked
        assert "Vigour: 1 dying, 3 steady, 5 strong (1-5) [last 2; = keeps it]: " in asked
        told = " ".join(typist.sees(f"{SECOND}: ").split())
        assert f"{FIRST}: vigour 2; late summer review 2015, glance: " in told
        assert "drainage 25, pot good, base bad, top too weak." in told
        _answer(typist, {"seconds": "30\r", "Pot whole": "q"}, "Pot whole")
        status, shown = typist.ends()
    assert status == 0
    assert "Broken off. To go on: leafclock review resume" in " ".join(shown.split())
    assert [review["answers"]["base"] for review in of_kind("review", FIRST)] == ["bad"]
    assert of_kind("review", SECOND) == [
        {"round": "late summer", "cycle": 2015, "depth": "full", "answers": {"drainage": 30.0}, "broken_off": True}
    ]  # fmt: skip

    words = ("review", "resume", "--today", WEEK_LATER, "--db", str(database))
    with at_terminal(*words, folder=database.parent) as typist:
        typist.sees(f"{SECOND}: 13 questions, full look.")
        asked = _answer(typist, {"Vigour": "4", "Minutes": "7\r"}, "Note")
        assert not any("seconds" in question for question in asked)
        typist.sees("Fig 2: ")
        typist.asked()
        typist.press("\x04")  # the end of what is typed breaks off too
        status, _ = typist.ends()
    assert status == 0
    state = _state(SECOND)
    assert [(review["answers"], review["minutes"]) for review in state["reviews"]] == [
        ({"drainage": 30.0}, 7.0)
    ]
    assert state["broken_off"] == []


def _state(tree: str) -> dict[str, Any]:
    found = json.loads(run("tree", "list", "--json", "--today", "2015-10-01").out)
    return dict(next(one["state"] for one in found if one["tree"]["label"] == tree))


def _piped(database: Path, *words: str, typed: str) -> tuple[int, str]:
    """Run the program as a process of its own, with lines on its standard input."""
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, *words, "--db", str(database)], input=typed, capture_output=True, text=True,
        cwd=ROOT, check=False,
    )  # fmt: skip
    return done.returncode, done.stdout + done.stderr


def test_piped_lines_answer_as_well_and_their_end_breaks_off(database: Path) -> None:
    status, shown = _piped(
        database, "review", "enter", FIRST, "--today", WALK, typed="25\ng\nnonsense\nbad\n"
    )
    assert status == 0
    assert "found 'nonsense'; right would be one of good, bad" in shown
    assert f"{FIRST}: late summer review 2015, broken off: drainage 25, pot good, base bad." in shown
    assert "Not a look yet: 3 of 12 questions are answered." in " ".join(shown.split())


def test_a_number_that_goes_the_wrong_way_is_asked_about_before_it_is_kept(database: Path) -> None:
    run("part", "add", FIRST, "wound", "stub", "2015-09-01", "--today", WALK)
    run("measure", FIRST, "stub", "width=10", "--on", "2015-09-01", "--today", WALK)
    typed = "\n\n\n12\nn\n9\n"
    _, shown = _piped(database, "review", "enter", FIRST, "--today", WALK, typed=typed)
    assert "stub: width 12 is more than the 10 of 2015-09-01. Is that what you measured? (y/n)" in shown
    assert [told["values"] for told in of_kind("measure", FIRST)] == [{"width": 9.0}]


def test_what_was_last_is_kept_by_its_own_key(database: Path) -> None:
    run("measure", FIRST, "girth=90", "--on", "2015-09-01", "--today", WALK)
    run("tree", "change", FIRST, "--aim", "trunk", "--today", WALK)
    words = ("review", "enter", FIRST, "--today", WALK, "--db", str(database))
    with at_terminal(*words, folder=database.parent) as typist:
        asked = _answer(typist, {"Girth": "=\r", "Vigour": "="}, "Note")
        assert any(
            question.endswith("(mm) [last 90 mm on 1 September 2015; = keeps it]: ") for question in asked
        )
        typist.ends()
    assert [told["values"] for told in of_kind("measure", FIRST)] == [{"girth": 90.0}]
    assert [told["vigour"] for told in of_kind("state", FIRST) if "vigour" in told] == [2]


def test_nothing_is_kept_where_nothing_was_last(database: Path) -> None:
    _, shown = _piped(database, "review", "enter", FIRST, "--today", WALK, typed="=\n25\n")
    assert "found '='; right would be a number from 0 to 1800 s" in shown
    assert [review["answers"] for review in of_kind("review", FIRST)] == [{"drainage": 25.0}]


def test_of_the_ends_of_a_graft_that_are_exchanged_both_are_asked_again(database: Path) -> None:
    run("part", "add", FIRST, "graft", "left", "2015-05-01", "--height", "100", "--today", WALK)
    answers = {"before it passes": "5", "behind it": "3", "swapped?": "n"}
    typed, again = [], {"before it passes": "3", "behind it": "5"}
    words = ("review", "enter", FIRST, "--today", WALK, "--db", str(database))
    with at_terminal(*words, folder=database.parent) as typist:
        while True:
            typed.append(question := typist.asked())
            if "Vigour" in question:
                break
            key = next((key for key in answers if key in question), None)
            ends = "\r" if key != "swapped?" else ""
            typist.press("\r" if key is None else f"{answers[key]}{ends}")
            if key == "swapped?":
                answers = again
        typist.press("\x04")
        typist.ends()
    assert sum("swapped?" in question for question in typed) == 1
    assert [told["values"] for told in of_kind("measure", FIRST)] == [{"entry": 3.0, "exit": 5.0}]


def test_a_decision_that_replaces_another_at_the_same_look_says_so(database: Path) -> None:
    run("part", "add", FIRST, "branch", "low", "--today", WALK)
    typed = "25\n" + "\n" * 11 + "remove low\nunwire low\n\n\n\n"
    _, shown = _piped(database, "review", "enter", FIRST, "--today", WALK, typed=typed)
    assert "low: unwire, in place of: remove." in shown


def test_decisions_minutes_and_a_note_follow_the_questions(database: Path) -> None:
    questions = 12
    typed = "5\n" + "\n" * (questions - 3) + "4\n\nsever moon\naim trunk\n\n4\nmoss on the base\n"
    status, shown = _piped(database, "review", "enter", FIRST, "--today", WALK, typed=typed)
    assert status == 0
    assert "no part 'moon'; right would be one of: none yet" in shown
    assert [told["aim"] for told in of_kind("state", FIRST) if "aim" in told] == ["trunk"]
    (review,) = of_kind("review", FIRST)
    assert (review["minutes"], review["note"]) == (4.0, "moss on the base")


def test_a_day_without_a_round_says_when_the_next_opens(database: Path) -> None:
    status, shown = _piped(database, "review", "enter", "--today", "2015-06-01", typed="")
    assert (status, shown.splitlines()[0]) == (0, "No tree is to be looked at now.")
    assert shown.splitlines()[1].startswith("The next round opens about ")


@pytest.mark.parametrize("words", [["repot", "root graft", "none"], ["quince", "quick"], ["a", "a b", "a c"]])
def test_every_word_has_a_key_of_its_own_and_none_breaks_off(words: list[str]) -> None:
    keys = keys_of(words)
    assert list(keys.values()) == words
    assert "q" not in keys
