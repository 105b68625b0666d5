"""Whatever the README says to type is done as it stands there, in the demo's garden."""

from __future__ import annotations

import re
import shlex
import shutil
from typing import TYPE_CHECKING

import pytest

from calendar_core.knowledge.profiles.bundled import folder as bundled
from tests.app.conftest import DAY
from tests.app.test_readme import SHOWN, TEXT

if TYPE_CHECKING:
    from pathlib import Path

    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

KEPT_BACK = (
    "watch",
    "weather fetch",
    "place",
    "channel",
    "COMMAND",
    "log --lines",
    "review enter",
    "serve",
    "calendar --to",
)
"""These wait, ask a service or a server, or have a test of their own."""


def test_what_it_says_to_type_is_done(midsummer: Path, leafclock: Program, folder: Path) -> None:
    shutil.copy(midsummer, "garden.db")
    shutil.copy(bundled("demo") / "seattle-weather.csv", "days.csv")
    stands_for = {"~/public/bench.ics": "bench.ics", "FOLDER": "out", "FILE": "copy.db"}
    for words in SHOWN:
        if words.startswith(KEPT_BACK):
            continue
        timeless = words.split()[0] in {"spot", "about", "backup", "export", "key", "address"}
        typed = [stands_for.get(word, word) for word in shlex.split(words)]
        answer = leafclock(*typed, *(() if timeless else ("--today", DAY)))
        assert (answer.status, answer.err) == (0, ""), words
    assert {path.name for path in folder.iterdir()} >= {"bench.ics", "out", "copy.db", "maple.svg"}


def test_lines_of_an_evening_are_taken(midsummer: Path, leafclock: Program) -> None:
    shutil.copy(midsummer, "garden.db")
    typed = next(block for block in re.findall(r"```\n(.*?)```", TEXT, re.DOTALL) if "; @" in block)
    answer = leafclock("log", "--lines", "-", "--today", DAY, typed=typed)
    assert (answer.status, answer.err) == (0, "")
