"""Timing of functions and processes, the same for all programs beside this file."""

from __future__ import annotations

import gc
import os
import subprocess
import sys
from functools import partial
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

RUNS = 5
PANDAS = ("-c", "import pandas")  # the reference: what a process of any data tool costs at least


def seconds(work: Callable[[], object], runs: int = RUNS) -> float:
    """Return the median time of ``work`` [s], the garbage collector resting as it does in `timeit`."""
    times = []
    for _ in range(runs):
        gc.collect()
        gc.disable()
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
        gc.enable()
    return median(times)


def python(arguments: Sequence[str], cwd: Path | None = None) -> str:
    """Run a Python process to its end, with stored bytecode as an installed program has, and return what it printed."""
    told = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    command = [sys.executable, *arguments]
    return subprocess.run(command, check=True, capture_output=True, text=True, env=told, cwd=cwd).stdout


def process_s(arguments: Sequence[str]) -> float:
    """Return the median time of a Python process [s], after one run that warms the disk's cache."""
    return beside(arguments)[0]


def beside(*processes: Sequence[str], runs: int = RUNS) -> list[float]:
    """Return the median times of Python processes run in turn [s]: what slows the machine slows them all."""
    times: list[list[float]] = [[] for _ in processes]
    for run in range(runs + 1):
        for arguments, taken in zip(processes, times, strict=True):
            took = seconds(partial(python, arguments), runs=1)
            if run:  # the first only warms the disk's cache
                taken.append(took)
    return [median(taken) for taken in times]
