"""How long commands take as whole processes, against a process that imports pandas and does nothing.

Run by hand, on an idle machine: ``python -m tests.benchmarks.processes``. Goal: ``leafclock plan`` at most
twice the reference. Then the modules that took longest to import for a plan, and a word on those that a plan
must not import.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

from tests.benchmarks.big_garden import TODAY, found
from tests.benchmarks.timing import PANDAS, beside, python

DEMO_DAY = "2015-06-24"
UNWANTED = ("pandas", "alembic", "matplotlib", "icalendar", "timezonefinder", "requests")
OFFENDERS = 15
TREES = "3 Japanese maple small; black pine; 2 satsuki azalea; fig"


def commands(folder: Path) -> dict[str, list[str]]:
    """Return the commands to time by name; the databases they read are made in ``folder``."""
    python(["-m", "calendar_core", "demo", "--out", str(folder), "--today", DEMO_DAY])
    found(folder / "big.db", 300)
    demo = ["--db", str(folder / "garden.db"), "--today", DEMO_DAY]
    big = ["--db", str(folder / "big.db"), "--today", str(TODAY)]
    asked = {
        "plan, the demo's trees": ["plan", *demo],
        "plan, 300 trees": ["plan", *big],
        "stages, the demo's trees": ["stages", *demo],
        "log, the demo's trees": ["log", *demo],
    }
    return {name: ["-m", "calendar_core", *words] for name, words in asked.items()}


def start(folder: Path) -> list[str]:
    """Return ``leafclock start`` as a process that makes a database of its own in each run."""
    folder.mkdir()
    words = ["start", "--place", "Nagano", "--trees", TREES, "--today", "2026-03-15", "--db"]
    code = (
        "import pathlib, runpy, sys, tempfile\n"
        f"database = pathlib.Path(tempfile.mkdtemp(dir={str(folder)!r})) / 'garden.db'\n"
        f"sys.argv[1:] = [*{words!r}, str(database)]\n"
        "runpy.run_module('calendar_core', run_name='__main__')"
    )
    return ["-c", code]


def import_times(arguments: list[str]) -> tuple[Counter[str], set[str]]:
    """Return the time each package took of its own to import [us], and the names of all modules."""
    command = [sys.executable, "-X", "importtime", *arguments]
    told = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    lines = subprocess.run(command, check=True, capture_output=True, text=True, env=told).stderr.splitlines()
    own: Counter[str] = Counter()
    names = set()
    for line in lines:
        parts = line.removeprefix("import time:").split("|")
        if len(parts) == 3 and parts[0].strip().isdigit():
            name = parts[2].strip()
            names.add(name.split(".")[0])
            own[name.split(".")[0]] += int(parts[0])
    return own, names


def main() -> None:
    """Print times, ratios and the slowest imports."""
    print("reference: python -c 'import pandas', run in turn with each command")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        asked = commands(folder)
        for title, arguments in (asked | {"start, a new garden": start(folder / "new")}).items():
            took, reference = beside(arguments, PANDAS)
            print(f"{title:26s} {took:5.2f} s  {took / reference:4.1f} x pandas ({reference:.2f} s)")
        own, names = import_times(asked["plan, the demo's trees"])
    print(f"plan imports for {sum(own.values()) / 1e6:.2f} s (the measuring slows it), most of it in")
    for package, us in own.most_common(OFFENDERS):
        print(f"  {us / 1e3:6.0f} ms {package}")
    there = [package for package in UNWANTED if package in names]
    print(
        "and imports "
        + (f"what it should not: {', '.join(there)}" if there else f"none of {', '.join(UNWANTED)}")
    )


if __name__ == "__main__":
    main()
