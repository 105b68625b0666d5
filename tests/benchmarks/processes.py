"""How long commands take as whole processes, against a process that imports pandas and does nothing.

Run by hand, on an idle machine: ``python -m tests.benchmarks.processes``. Goal: ``leafclock plan`` at most
twice the reference. Where xclim is installed it is the other reference, a process that imports it and makes the
heat and chill sums of 30 years: goal, at least four times as fast. Then the modules that took longest to import for a plan, and a word on those that a plan
must not import.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections import Counter
from importlib.util import find_spec
from pathlib import Path

from tests.benchmarks.big_garden import TODAY, found
from tests.benchmarks.timing import PANDAS, beside, python

DEMO_DAY = "2015-06-24"
UNWANTED = ("pandas", "alembic", "matplotlib", "icalendar", "timezonefinder", "requests")
OFFENDERS = 15
TREES = "3 Japanese maple small; black pine; 2 satsuki azalea; fig"


XCLIM = """
import warnings; warnings.simplefilter("ignore")
import numpy as np, xarray as xr
from xclim.indices import chill_portions, growing_degree_days
day = np.datetime64("2001-01-01", "ns") + np.arange(400) * np.timedelta64(1, "D")
hour = np.datetime64("2001-01-01", "ns") + np.arange(9600) * np.timedelta64(1, "h")
air = np.random.default_rng(1).normal(8.0, 5.0, (30, 9600))
def made(values, time):
    return xr.DataArray(values, {"time": time}, ("trace", "time"), attrs={"units": "degC"})
growing_degree_days(made(air[:, :400], day), thresh="4 degC", freq="YS").to_numpy()
chill_portions(made(air, hour), freq="10YS").to_numpy()
"""


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
        if find_spec("xclim") is not None:
            plan = asked["plan, the demo's trees"]
            took, reference = beside(plan, ("-c", XCLIM))
            print(
                f"plan, the demo's trees     {took:5.2f} s  {reference / took:4.1f} x faster than xclim ({reference:.2f} s)"
            )
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
