"""The README shows what the program prints: no line of its excerpt is made up or out of date."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.app.conftest import Answer, Program

README = Path(__file__).parents[2] / "README.md"


def test_every_line_of_the_excerpt_is_printed_by_the_demo(shown: tuple[Answer, Path]) -> None:
    excerpt = re.search(r"<!-- excerpt -->\n```\n(.*?)\n```", README.read_text(encoding="utf-8"), re.DOTALL)
    assert excerpt is not None
    lines = [line for line in excerpt[1].splitlines() if line not in ("", "...")]
    assert len(lines) > 20
    printed = shown[0].out.splitlines()
    assert [line for line in lines if line not in printed] == []


@pytest.mark.parametrize(
    "command",
    [
        "demo",
        "start",
        "places",
        "stages",
        "seen",
        "log",
        "why",
        "wish",
        "answer",
        "calendar",
        "warn",
        "watch",
        "channel",
    ],
)
def test_every_command_of_the_day_is_in_the_readme(command: str) -> None:
    assert re.search(rf"leafclock {command}\b|sh {command}/run", README.read_text(encoding="utf-8"))


def test_every_line_of_the_warning_is_printed_by_the_demo(leafclock: Program) -> None:
    found = re.search(r"<!-- warning -->\n```\n(.*?)\n```", README.read_text(encoding="utf-8"), re.DOTALL)
    assert found is not None
    day = ("--today", "2014-08-10")
    assert leafclock("demo", "--out", "demo", *day).status == 0
    printed = leafclock("warn", "--db", "demo/garden.db", *day, "--dry-run").out
    assert found[1] in printed
