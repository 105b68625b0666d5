"""The README shows what the program prints: no line of its excerpts is made up or out of date."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from calendar_core.app.main import SUBJECTS
from tests.planning.made_up import knowledge

if TYPE_CHECKING:
    from tests.app.conftest import Answer

README = Path(__file__).parents[2] / "README.md"
TEXT = README.read_text(encoding="utf-8")
COMMANDS = " ".join(SUBJECTS.values()).split()
SHOWN = re.findall(r"`(?:\.venv/bin/)?leafclock ([^`]+)`", TEXT)


def excerpt(marker: str) -> list[str]:
    """Return the lines between two markers, left out ones as ``...``."""
    found = re.search(rf"<!-- {marker} -->\n```\n(.*?)\n```\n<!-- /{marker} -->", TEXT, re.DOTALL)
    assert found is not None
    return found[1].splitlines()


def assert_printed(shown: list[str], printed: list[str]) -> None:
    """Every stretch between two ``...`` stands in what was printed as it is, and after the one before it."""
    at = 0
    for stretch in "\n".join(shown).split("\n...\n"):
        lines = stretch.removesuffix("\n...").splitlines()
        starts = [i for i in range(at, len(printed)) if printed[i : i + len(lines)] == lines]
        assert starts, f"not printed, or not in this order: {lines}"
        at = starts[0] + len(lines)


def test_it_is_short() -> None:
    assert len(TEXT.splitlines()) < 140


@pytest.mark.slow
def test_the_excerpt_is_printed_by_the_demo(shown: tuple[Answer, Path]) -> None:
    lines = excerpt("excerpt")
    assert len([line for line in lines if line != "..."]) > 20
    assert_printed(lines, shown[0].out.splitlines())


@pytest.mark.slow
def test_the_warning_is_printed_by_the_demo(shown: tuple[Answer, Path]) -> None:
    assert_printed(excerpt("warning"), shown[0].out.splitlines())


def test_what_it_shows_of_the_demo_fits_a_page() -> None:
    assert len(excerpt("excerpt")) + len(excerpt("warning")) <= 60


def test_a_made_up_line_would_be_found() -> None:
    printed = ["a", "b", "c", "d"]
    assert_printed(["a", "...", "c", "d", "..."], printed)
    for shown in (["a", "c"], ["c", "...", "a"], ["a", "...", "e"]):
        with pytest.raises(AssertionError, match="not printed"):
            assert_printed(shown, printed)


@pytest.mark.parametrize(
    "command", ["start", "due", "plan", "why", "stages", "changes", "seen", "log", "answer", "wish", "hours", "rota", "calendar", "warn", "watch", "channel", "about"]
)  # fmt: skip
def test_every_command_of_the_day_is_in_the_readme(command: str) -> None:
    assert re.search(rf"leafclock {command}\b", TEXT)


def test_the_commands_it_shows_exist() -> None:
    assert len(SHOWN) > 25
    assert {words.split()[0] for words in SHOWN} - {"COMMAND"} <= set(COMMANDS)


def test_it_counts_the_species() -> None:
    known = [key for key in knowledge().profiles if not key.startswith("unknown-")]
    assert f"knows {len(known)} species" in TEXT
