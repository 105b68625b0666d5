"""The program as a process of its own: exit status, pipes, colour, encodings."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.app.conftest import DAY

if TYPE_CHECKING:
    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
LEAFCLOCK = (sys.executable, "-m", "calendar_core")


def environment(**more: str) -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(ROOT), **more}


def test_a_refusal_is_status_2_and_one_line_on_standard_error() -> None:
    made = subprocess.run([*LEAFCLOCK, "plan"], capture_output=True, env=environment(), check=False)
    assert (made.returncode, made.stdout, made.stderr) == (
        2, b"",
        b"leafclock: garden.db: there is no such database yet; right would be another, or: leafclock start\n",
    )  # fmt: skip


def test_a_pipe_gets_no_colour_and_any_encoding(garden: Program) -> None:
    """Colour is for terminals alone; a stream of ASCII gets question marks, not an end."""
    assert garden("tree", "add", "black pine", "--label", "盆栽").status == 0
    env = environment(PYTHONIOENCODING="ascii", TERM="xterm-256color", COLORTERM="truecolor")
    made = subprocess.run(
        [*LEAFCLOCK, "tree", "show", "盆栽", "--today", DAY], capture_output=True, env=env, check=False
    )
    assert (made.returncode, made.stderr) == (0, b"")
    assert made.stdout.startswith(
        b"\n??\n  Japanese black pine  structure  vigour 3  medium  bench  no pot named\n"
    )
    assert b"\x1b" not in made.stdout


def test_a_reader_that_has_seen_enough_is_no_fault() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    words = [*LEAFCLOCK, "places", "--json"]
    made = subprocess.run(words, stdout=writing, stderr=subprocess.PIPE, env=environment(), check=False)
    os.close(writing)
    assert (made.returncode, made.stderr) == (0, b"")


def test_what_is_printed_to_a_full_disk_is_one_line(garden: Program) -> None:
    """Linux, full(4): /dev/full answers every write as a full disk does."""
    with Path("/dev/full").open("wb") as full:
        words = [*LEAFCLOCK, "tree", "list", "--today", DAY]
        made = subprocess.run(words, stdout=full, stderr=subprocess.PIPE, env=environment(), check=False)
    told = "what is printed is not taken (No space left on device); right would be a place with room"
    assert (made.returncode, made.stderr.decode()) == (2, f"leafclock: {told}\n")


def test_a_terminal_gets_headings_that_stand_out(garden: Program) -> None:
    pty = pytest.importorskip("pty", reason="no pseudo-terminals here")
    ours, theirs = pty.openpty()
    env = environment(TERM="xterm-256color")
    env.pop("NO_COLOR", None)
    assert garden("tree", "add", "larch", "--label", "Larix").status == 0
    asked = [*LEAFCLOCK, "tree", "show", "Larix", "--today", DAY]
    made = subprocess.run(asked, stdin=theirs, stdout=theirs, env=env, check=True)
    os.close(theirs)
    assert made.returncode == 0
    assert (
        os.read(ours, 1000)
        .replace(b"\r", b"")
        .startswith(
            b"\n\x1b[1mLarix\x1b[0m\n"  # ECMA-48: SGR 1 is bold
        )
    )
    os.close(ours)


def test_the_database_of_no_name_lies_in_the_users_data_folder(
    leafclock: Program, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """XDG Base Directory Specification: $XDG_DATA_HOME."""
    if sys.platform != "linux":
        pytest.skip("the data folder is told by other means here")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.delenv("LEAFCLOCK_DB")
    assert leafclock("start", "--place", "Seattle", "--trees", "black pine", "--today", DAY).status == 0
    assert (tmp_path / "data" / "leafclock" / "gardens.db").is_file()
    assert leafclock("tree", "list").out.startswith("Japanese black pine 1")
