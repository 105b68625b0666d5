"""How long ``leafclock due`` takes in a garden of 3,000 trees and 100,000 entries, against a process that imports pandas.

Run by hand, on an idle machine: ``python -m tests.benchmarks.due``. Goal: at most twice the reference, once the day's
plan is kept (``leafclock watch`` makes it within a minute). Beside it: with nothing kept, and after an entry about one tree.
"""

from __future__ import annotations

import tempfile
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from uuid import uuid5

from calendar_core.storage import log
from calendar_core.storage.engine import open_store
from tests.benchmarks.big_garden import JOINED, NAMESPACE, TODAY, found
from tests.benchmarks.timing import PANDAS, beside, python, seconds

TREES, ENTRIES = 3000, 100_000


def fill(database: Path) -> None:
    """Write invented feedings, one a day and tree in turn, until the log is long enough."""
    garden = found(database, TREES)
    store = open_store(database)
    with store.begin() as connection:
        there = log.entries(connection, garden.id)
        trees = sorted({entry.tree_ids[0] for entry in there})
        more = [
            replace(
                there[0],
                id=uuid5(NAMESPACE, f"fed {n}"),
                tree_ids=(trees[n % TREES],),
                happened=JOINED + timedelta(days=n // TREES),
                kind="work",
                data={"operation": "feeding"},
            )
            for n in range(ENTRIES - len(there))
        ]
        log.append(connection, more)
    store.close()


def main() -> None:
    """Print the three times."""
    with tempfile.TemporaryDirectory() as name:
        database = Path(name) / "big.db"
        fill(database)
        garden = ["--db", str(database), "--today", str(TODAY)]
        due = ["-m", "calendar_core", "due", *garden]
        fed = ["-m", "calendar_core", "log", "ficus-microcarpa 3", "feeding", *garden]
        first = seconds(lambda: python(due), runs=1)
        kept, reference = beside(due, PANDAS)
        python(fed)
        after = seconds(lambda: python(due), runs=1)
    print(f"import pandas                    {reference:6.2f} s")
    for title, took in (("nothing kept", first), ("planned", kept), ("after an entry of one tree", after)):
        print(f"due, {title:27s} {took:6.2f} s  {took / reference:5.1f} x pandas")


if __name__ == "__main__":
    main()
