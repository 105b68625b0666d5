"""A year of the calendar on a phone: how much it shows, how often it rings, how often it changes; the old spans beside it.

Gardens of 3, 14, 60 and 300 made-up trees under the real days of Seattle, day by day, the grower doing what the calendar
says but in every fifth week. Run by hand: python -m tests.benchmarks.calendar_year [TREES ...]
[--days N] [--first DAY]
"""

from __future__ import annotations

import argparse
import sys
import time
from datetime import date
from pathlib import Path
from statistics import fmean
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from tests.app.calendar.lived import lived

if TYPE_CHECKING:
    from tests.app.calendar.lived import Lived, Seen

FIRST, DAYS = date(2014, 3, 1), 365
SIZES = (3, 14, 60, 300)
GOALS = "goals: shown 1.5 a day, 4 at most; 4 reminders a week without danger; 3 changes a refresh; nothing untold, no day too long"


def row(name: str, seen: Seen, life: Lived) -> str:
    """Return the figures of one calendar."""
    weekly = seen.weekly(life.danger) or [0]
    return (
        f"{name:>8}: shown {fmean(seen.shown):5.2f} a day, {max(seen.shown)} at most; reminders "
        f"{sum(weekly) / max(life.days / 7, 1):5.2f} a week, {max(weekly)} at most; "
        f"changed {fmean(seen.changed or [0]):5.2f} a refresh; longest {seen.longest} days"
    )


def main(*words: str) -> None:
    """Print the figures of each garden."""
    asked = argparse.ArgumentParser()
    asked.add_argument("trees", nargs="*", type=int, default=SIZES)
    asked.add_argument("--days", type=int, default=DAYS)
    asked.add_argument("--first", type=date.fromisoformat, default=FIRST)
    given = asked.parse_args(words)
    print(GOALS)
    for n_trees in given.trees:
        with TemporaryDirectory() as folder:
            began = time.perf_counter()
            for life in lived(Path(folder) / "garden.db", n_trees, given.first, given.days):
                if life.days % 50 == 0 and sys.stderr.isatty():
                    sys.stderr.write(f"{life.name}: day {life.days}\n")
            took = (time.perf_counter() - began) / max(life.days, 1)
            print(f"{life.name}: {life.days} days, {life.done} jobs done, {took:.2f} s a day")
            for kind, seen in life.seen.items():
                print(row(kind, seen, life))
            print(
                f"    due work with no event before its last safe day: {len(life.untold)}; days told too long: {len(life.too_long)}"
            )
            for fault in (*life.untold[:20], *life.too_long[:10]):
                print(f"      {fault}")
            sys.stdout.flush()


if __name__ == "__main__":
    main(*sys.argv[1:])
