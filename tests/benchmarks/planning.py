"""How long a plan takes in process, whether it grows linearly with the trees, and how much memory it needs.

Run by hand, on an idle Linux machine: ``python -m tests.benchmarks.planning [TREES ...]`` (default 30 300 3000).
Goals: 300 trees in 0.5 s and under 200 MB. References of the same run: importing pandas, and NumPy's sort
of ten stages of every tree's members.
"""

from __future__ import annotations

import sys
import tempfile
import tracemalloc
from functools import partial
from pathlib import Path
from statistics import median

import numpy as np

from calendar_core.app.shell.session import Session, open_session
from calendar_core.planning.planner import make_plan
from calendar_core.science.year.members import DRAWS
from tests.benchmarks.big_garden import TODAY, found
from tests.benchmarks.timing import PANDAS, RUNS, process_s, python, seconds

STAGES = 10
TRACES = 30


def sort_s(n_trees: int) -> float:
    """Return the time NumPy takes to sort ten stages of the members of so many trees, a row each [s]."""
    members = np.random.default_rng(1).random((n_trees * STAGES, TRACES * DRAWS))
    return seconds(lambda: np.sort(members, axis=1), runs=3)


def plan_s(database: Path) -> tuple[float, Session]:
    """Return the median time of a plan [s], weather and log being read already, and the last session."""
    times = []
    session = _ready(database)
    for _ in range(RUNS):
        session = _ready(database)  # a new one each time: the air that it holds remembers its sums
        times.append(seconds(partial(_plan, session), runs=1))
    return median(times), session


def _ready(database: Path) -> Session:
    session = open_session(str(database), None, TODAY)
    _ = session.grove, session.weather, session.knowledge
    return session


def _plan(session: Session) -> None:
    session.__dict__["plan"] = make_plan(session.grove, session.weather.sky, session.knowledge, TODAY)


def print_memory(database: Path) -> None:
    """Print what a plan adds at its peak and the whole process's peak [MB]; run in a process of its own."""
    session = _ready(database)
    before = _peak_mb()
    _plan(session)
    peak = _peak_mb()
    again = _ready(database)
    tracemalloc.start()
    _plan(again)
    print(f"{tracemalloc.get_traced_memory()[1] / 1e6:.0f} {peak:.0f} {before:.0f}")


def _peak_mb() -> float:
    """Return the most memory this process held so far; what the resource module tells holds the parent's too."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return float(status.partition("VmHWM:")[2].split()[0]) / 1024


def memory_mb(database: Path) -> tuple[float, float, float]:
    """Return MB a plan allocates at its peak, of the process at its peak, and of the process before the plan."""
    told = python(["-m", "tests.benchmarks.planning", "--memory", str(database)])
    allocated, peak, before = (float(part) for part in told.split())
    return allocated, peak, before


def main(sizes: list[int]) -> None:
    """Print a table with a line for each number of trees."""
    pandas_s = process_s(PANDAS)
    print(f"reference: python -c 'import pandas' {pandas_s:.2f} s; each time is the median of {RUNS}")
    print(
        "trees  plan s  x pandas  ms/tree  sort s  x sort  items  allocated MB  process MB (before the plan)"
    )
    with tempfile.TemporaryDirectory() as folder:
        for n_trees in sizes:
            database = Path(folder) / f"{n_trees}.db"
            found(database, n_trees)
            took, session = plan_s(database)
            sort = sort_s(n_trees)
            allocated, peak, before = memory_mb(database)
            assert session.weather.sky.traces.t_min_c.shape[0] == TRACES
            print(
                f"{n_trees:5d}  {took:6.2f}  {took / pandas_s:8.2f}  {1000 * took / n_trees:7.2f}  {sort:6.2f}"
                f"  {took / sort:6.1f}  {len(session.plan.items):5d}  {allocated:12.0f}  {peak:10.0f} ({before:.0f})"
            )


if __name__ == "__main__":
    if sys.argv[1:2] == ["--memory"]:
        print_memory(Path(sys.argv[2]))
    else:
        main([int(size) for size in sys.argv[1:]] or [30, 300, 3000])
