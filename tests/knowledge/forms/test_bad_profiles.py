"""Faults in profiles, kinds, pests and choices: each is told with its file and key, and what would be right."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.knowledge.bad_names import ANSWERS, NAMES
from tests.knowledge.bad_numbers import BASES, STAGES, UNITS
from tests.knowledge.broken import breaks, change, faults

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.slow

CASES = {bad.what: bad for bad in (*STAGES, *UNITS, *NAMES, *ANSWERS, *BASES)}
TOGETHER = (  # none of them hides or causes another
    "decandling a pine of one flush",
    "a spread too narrow for a genus",
    "a spread too narrow for woody plants",
    "a spread too narrow for a species",
    "after a stage that stands below",
    "without a work that is not there",
    "an unlisted pest",
    "never an unknown operation",
    "a kind nobody uses",
    "an unknown option",
    "an unknown option of a hold",
    "a default that is no option",
    "basis of water",
    "basis of never",
    "basis of a pest",
)


@pytest.mark.parametrize("what", CASES)
def test_a_fault_is_told_once_with_its_file_and_key(config: Path, what: str) -> None:
    breaks(config, CASES[what])
    found = faults(config)
    assert sum(line.startswith(f"config/{CASES[what].line}") for line in found) == 1, found


def test_many_faults_are_told_at_once(config: Path) -> None:
    for what in TOGETHER:
        breaks(config, CASES[what])
    found = faults(config)
    for what in TOGETHER:
        assert sum(line.startswith(f"config/{CASES[what].line}") for line in found) == 1, (what, found)
    assert len(found) == len(TOGETHER)


def test_a_missing_unit_is_told_as_missing_and_as_what_was_meant(config: Path) -> None:
    change(config / "pests.toml", "at_c = 10", "at = 10")
    start = "config/pests.toml: aphids.opens.mean_year"
    assert faults(config) == (
        f"{start}.at_c: missing; right would be a value here",
        f"{start}.at: found 10; there is no such key, right would be at_c, with its unit",
    )
