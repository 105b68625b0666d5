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

ROOT = Path(__file__).parents[2]
LEAFCLOCK = (sys.executable, "-m", "calendar_core")
ESCAPE = b"\x1b"


def environment(**more: str) -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(ROOT), **more}


def test_a_refusal_is_status_2_and_one_line_on_standard_error() -> None:
    made = subprocess.run([*LEAFCLOCK, "plan"], capture_output=True, env=environment(), check=False)
    assert (made.returncode, made.stdout, made.stderr) == (
        2, b"",
        b"leafclock: garden.db: there is no such database yet; right would be another, or: leafclock start\n",
    )  # fmt: skip


def test_a_wrong_option_is_status_2() -> None:
    made = subprocess.run(
        [*LEAFCLOCK, "plan", "--lat", "1"], capture_output=True, env=environment(), check=False
    )
    assert made.returncode == 2
    assert b"--lat" in made.stderr


def test_a_pipe_gets_no_colour_and_any_encoding(garden: Program) -> None:
    """Colour is for terminals alone; a stream of ASCII gets question marks, not an end."""
    words = [*LEAFCLOCK, "plan", "--today", DAY]
    env = environment(PYTHONIOENCODING="ascii", TERM="xterm-256color", COLORTERM="truecolor")
    made = subprocess.run(words, capture_output=True, env=env, check=False)
    assert (made.returncode, made.stderr) == (0, b"")
    assert ESCAPE not in made.stdout
    assert made.stdout.decode("ascii").startswith("My garden, Seattle. Wednesday, 24 June 2015\n")


def test_a_reader_that_has_seen_enough_is_no_fault(garden: Program) -> None:
    words = [*LEAFCLOCK, "plan", "--all", "--json", "--today", DAY]
    reading, writing = os.pipe()
    os.close(reading)
    made = subprocess.run(words, stdout=writing, stderr=subprocess.PIPE, env=environment(), check=False)
    os.close(writing)
    assert (made.returncode, made.stderr) == (0, b"")


@pytest.mark.skipif(sys.platform == "win32", reason="a terminal of another kind")
def test_a_terminal_gets_headings_that_stand_out(garden: Program) -> None:
    import pty

    def shown(**more: str) -> bytes:
        ours, theirs = pty.openpty()
        words = [*LEAFCLOCK, "species", "black pine"]
        env = {key: value for key, value in environment(**more).items() if key != "NO_COLOR" or key in more}
        with subprocess.Popen(words, stdin=theirs, stdout=theirs, stderr=theirs, env=env) as process:
            os.close(theirs)
            text = b""
            while True:
                try:
                    piece = os.read(ours, 65536)
                except OSError:  # the other end is closed
                    break
                if not piece:
                    break
                text += piece
        os.close(ours)
        assert process.returncode == 0
        return text

    assert ESCAPE in shown(TERM="xterm-256color")
    assert b"\x1b[3" not in shown(TERM="xterm-256color", NO_COLOR="1")  # no-color.org
    assert ESCAPE not in shown(TERM="dumb")


def test_the_database_of_no_name_lies_in_the_users_data_folder(tmp_path: Path) -> None:
    """XDG Base Directory Specification: $XDG_DATA_HOME."""
    if sys.platform != "linux":
        pytest.skip("the data folder is told by other means here")
    env = environment(XDG_DATA_HOME=str(tmp_path / "data"))
    del env["LEAFCLOCK_DB"]
    words = [*LEAFCLOCK, "start", "--place", "Seattle", "--trees", "black pine", "--today", DAY]
    subprocess.run(words, stdout=subprocess.DEVNULL, env=env, check=True)
    assert (tmp_path / "data" / "leafclock" / "gardens.db").is_file()
    listed = subprocess.run([*LEAFCLOCK, "tree", "list"], capture_output=True, env=env, check=True)
    assert listed.stdout.startswith(b"Japanese black pine 1  Japanese black pine  structure")
