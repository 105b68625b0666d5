"""config/warnings.toml: whole, and faults told by their key."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.knowledge.broken import Bad, is_told

if TYPE_CHECKING:
    from pathlib import Path

FILE = "warnings.toml"


@pytest.mark.parametrize(
    "bad",
    [
        Bad(
            "more chance to keep than to raise",
            FILE,
            "kept_from = 0.3",
            "kept_from = 0.6",
            f"{FILE}: caution: kept_from is 0.6 and raised_from 0.5; right would be no more to keep",
        ),
        Bad(
            "a caution as severe as a danger",
            FILE,
            'severity = ["Moderate", "Severe"]',
            'severity = ["Severe", "Severe"]',
            f"{FILE}: hazard.heat: severity is ['Severe', 'Severe']; right would be Minor or Moderate",
        ),
        Bad("a hazard left out", FILE, "[hazard.hail]", "[hazard.hails]", f"{FILE}: hazard.hails"),
        Bad("a means left out", FILE, "[means.nothing]\ncautions = []\n", "", f"{FILE}: means lacks nothing"),
        Bad(
            "an unknown caution",
            FILE,
            'cautions = ["cloth_in_wind"]',
            'cautions = ["clothes"]',
            f"{FILE}: means.cover.cautions[0]: found 'clothes'; right would be a known name",
        ),
    ],
    ids=lambda bad: bad.what,
)
def test_a_fault_is_told_by_its_key(config: Path, bad: Bad) -> None:
    is_told(config, bad)
