"""Rounds of growers: each file of tests/situations/reviews against the walks of its days."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.app.review.rounds import FOLDER, misses, read

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.toml")), ids=lambda path: path.stem)
def test_round(path: Path, tmp_path: Path) -> None:
    case = read(path)
    found = list(misses(case, tmp_path))
    assert not found, "\n".join([case.title, *found])
