"""Weeks on a phone under real weather: nothing due goes untold, no day is told too long, little is shown and rung.

The bounds are the project's own; `python -m tests.benchmarks.calendar_year` prints them for a year and four gardens.
"""

from __future__ import annotations

from datetime import date
from statistics import fmean
from typing import TYPE_CHECKING

import pytest

from tests.app.calendar.lived import lived

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.slow


@pytest.mark.parametrize(
    ("n_trees", "first", "days"),
    [
        (3, date(2014, 10, 6), 12),
        (14, date(2014, 3, 22), 16),
        (60, date(2014, 4, 1), 6),
    ],
)
def test_nothing_due_goes_untold_and_no_day_is_told_too_long(
    tmp_path: Path, n_trees: int, first: date, days: int
) -> None:
    *_, life = lived(tmp_path / "garden.db", n_trees, first, days)
    assert life.days == days
    assert life.done > 0
    assert life.untold == []
    assert life.too_long == []
    work, windows = life.seen["work"], life.seen["windows"]
    assert work.longest <= 3
    assert max(work.shown) <= 4
    assert fmean(work.shown) <= 1.5
    assert max(work.weekly(life.danger), default=0) <= 4
    assert fmean(work.shown) < fmean(windows.shown)
