"""What comes of thousands of inputs made wrong at random, counted by kind; each fault with the seed that shows it again.

Run by hand: ``python -m tests.benchmarks.fuzzing [TRIES [KIND ...]]`` (default 20,000, spread over all kinds).
"""

from __future__ import annotations

import os
import sys
import tempfile
import traceback
import warnings
from collections import Counter
from pathlib import Path
from random import Random
from time import perf_counter

from tests.fuzzing import TRIES, Bench

SHARE = {"folder": 0.1, "trees": 0.15, "weather": 0.25, "garden file": 0.15, "service": 0.3, "command": 0.05}
SHOWN = 12  # faults that are printed whole; the others are counted


def tried(bench: Bench, kind: str, n: int, first: int = 0) -> Counter[str]:
    """Return how often each outcome came of ``n`` tries."""
    outcomes: Counter[str] = Counter()
    for seed in range(first, first + n):
        try:
            outcomes[TRIES[kind](bench, Random(f"{kind} {seed}"))] += 1  # noqa: S311 - no secret hangs on it
        except Exception:  # noqa: BLE001 - that is what is counted
            outcomes["FAULT"] += 1
            if outcomes["FAULT"] <= SHOWN:
                print(f"{kind} {seed}:\n{traceback.format_exc()[-1800:]}")
    return outcomes


def main(n: int, kinds: list[str]) -> None:
    """Print the counts."""
    warnings.simplefilter("error")
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"LEAFCLOCK_WEATHER": "off", "XDG_STATE_HOME": folder}
        bench = Bench(Path(folder))
        total = sum(SHARE[kind] for kind in kinds)
        for kind in kinds:
            share, began = round(n * SHARE[kind] / total), perf_counter()
            counts = tried(bench, kind, share)
            took = perf_counter() - began
            told = ", ".join(f"{outcome} {times}" for outcome, times in sorted(counts.items()))
            print(f"{kind}: {share} in {took:.0f} s: {told}", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else 20_000, sys.argv[2:] or list(TRIES))
