"""Files that no one would give on purpose: told in one line, and nothing is written or waited for."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.app.conftest import run
from tests.app.test_bad_input import assert_refused, rows

if TYPE_CHECKING:
    from tests.app.conftest import Answer, Program

pytestmark = pytest.mark.slow

CELL = "x" * 200_000  # beyond the 131,072 signs that Python's csv reads in a cell
TREES = "a CSV file of trees"
WEATHER = "a CSV file of weather, or a station record"
GARDEN = '[garden]\nplace = "Seattle"\n'


def found(answer: Answer) -> str:
    """Return the one line of a refusal."""
    assert (answer.status, answer.out) == (2, "")
    (line,) = answer.err.splitlines()
    return line.removeprefix("leafclock: ")


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (f"{GARDEN}latitude = {'9' * 5000}\n", "holds a number that cannot be read; right would be fewer digits"),
        (f"{GARDEN}tree = {'[' * 50_000}\n", "is nested too deep to be read; right would be a garden file"),
        (f"{GARDEN}tree = [", "is not valid TOML"),
    ],
    ids=["digits", "brackets", "open"],
)  # fmt: skip
def test_a_garden_file_of_no_end(leafclock: Program, content: str, told: str) -> None:
    Path("garden.toml").write_text(content, encoding="utf-8")
    assert found(leafclock("start", "--from", "garden.toml")).startswith(f"garden.toml: {told}")
    assert not Path("garden.db").exists()


@pytest.mark.parametrize(
    ("words", "content"),
    [
        (("tree", "import"), f"species,label\nblack pine,{CELL}\n"),
        (("weather", "import"), f"date,t_min,t_max\n2015-01-01,{CELL},3\n"),
        (("weather", "import"), f"ID,DATE,ELEMENT,DATA VALUE,M-FLAG,Q-FLAG,S-FLAG,OBS-TIME\nUSW00094728,20150101,TMAX,{CELL},,,,\n"),
        (("weather", "import"), f'"STATION","DATE","TMAX","TMAX_ATTRIBUTES"\nUSW00094728,2015-01-01,{CELL},\n'),
        (("weather", "import"), f"time,temperature\n2015-01-01 00:00,{CELL}\n"),
    ],
    ids=["trees", "days", "station", "wide", "hours"],
)  # fmt: skip
def test_a_cell_of_a_book(garden: Program, words: tuple[str, ...], content: str) -> None:
    Path("given.csv").write_text(content, encoding="utf-8")
    before = rows()
    answer = garden(*words, "given.csv")
    assert answer.status == 2
    assert "given.csv line 2: field larger than field limit (131072); right would be a" in answer.err
    assert rows() == before


def test_cells_of_an_exported_folder(garden: Program) -> None:
    assert run("export", "out").status == 0
    whole = Path("out/log.csv").read_text(encoding="utf-8")
    Path("out/log.csv").write_text(whole.replace("medium", CELL, 1), encoding="utf-8")
    assert "field larger than field limit" in found(run("import", "out", "--db", "second.db"))
    for value, told in (("9" * 5000, "digits"), ("[" * 50_000, "too deep"), ("1e999", "finite numbers")):
        Path("out/log.csv").write_text(
            whole.replace('""vigour"": 3', f'""vigour"": {value}', 1), encoding="utf-8"
        )
        assert told in found(run("import", "out", "--db", "second.db"))
    Path("out/log.csv").write_text(whole, encoding="utf-8")
    for value in ("9" * 5000, "[" * 50_000, "1e999"):
        text = Path("out/garden.json").read_text(encoding="utf-8")
        described = json.loads(text)
        Path("out/garden.json").write_text(
            text.replace(json.dumps(described["garden"]["elevation_m"]), value, 1), encoding="utf-8"
        )
        assert "out/garden.json" in found(run("import", "out", "--db", "second.db"))
        Path("out/garden.json").write_text(text, encoding="utf-8")
    assert not Path("second.db").exists()


def test_a_pipe_is_not_waited_for(garden: Program) -> None:
    assert run("export", "out").status == 0
    os.mkfifo("pipe")
    Path("out/trees.csv").unlink()
    os.mkfifo("out/trees.csv")
    told = "is a pipe or a device, not a file; right would be"
    exported = "a folder made with: leafclock export"
    assert found(run("import", "out", "--db", "second.db")) == f"out/trees.csv: {told} {exported}"
    assert found(garden("tree", "import", "pipe")) == f"pipe: {told} {TREES}"
    assert found(garden("weather", "import", "pipe")) == f"pipe: {told} {WEATHER}"
    assert found(garden("weather", "import", "/dev/zero")) == f"/dev/zero: {told} {WEATHER}"
    assert found(run("start", "--from", "pipe")) == f"pipe: {told} a garden file"
    assert found(garden("log", "--lines", "pipe")) == f"pipe: {told} a text file, or -"
    assert (
        found(garden("tree", "import", ".")) == f".: cannot be read (Is a directory); right would be {TREES}"
    )


def test_a_link_out_of_the_folder_is_not_followed(garden: Program) -> None:
    assert run("export", "out").status == 0
    Path("secret.txt").write_text("root:x:0:0", encoding="utf-8")
    Path("out/trees.csv").unlink()
    Path("out/trees.csv").symlink_to(Path("secret.txt").absolute())
    assert_refused(
        run("import", "out", "--db", "second.db"),
        "out/trees.csv: leads out of the folder; right would be a file in it",
    )


def test_a_change_before_the_garden_was_founded(garden: Program) -> None:
    early = ("--today", "2015-01-01")
    joined = "Japanese maple 1 joined on 2015-06-24; right would be a day from then on, not 2015-01-01"
    assert_refused(run("tree", "change", "Japanese maple 1", "--vigour", "4", *early), joined)
    assert_refused(run("tree", "gone", "Japanese maple 1", "--why", "sold", *early), joined)
