"""From a fresh clone to the first plan of one's own garden: the wall time of the two commands, install included.

Run by hand: ``python tests/benchmarks/first_plan.py [PYTHON_FOLDER]``, with network for the install. What is
committed is cloned, not what lies in the working tree. Goal: three minutes. The reference is the bare making
of a virtual environment, in the same run. Give a folder to have its ``python3`` found first.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

CHECKOUT = Path(__file__).parents[2]
GOAL_S = 180
START = (
    ".venv/bin/leafclock", "start", "--lat", "47.5", "--lon", "-122.3", "--db", "own.db",
    "--trees", "3 Japanese maple small; black pine; satsuki azalea; fig",
)  # fmt: skip


def timed(title: str, command: tuple[str, ...], cwd: Path, path: str) -> tuple[float, str]:
    """Run a command, print how long it took [s], and return that and what it printed."""
    own = ("PATH", "PYTHONPATH", "VIRTUAL_ENV", "PYTHONDONTWRITEBYTECODE")
    clean = {key: value for key, value in os.environ.items() if key not in own} | {"PATH": path}
    start = perf_counter()
    done = subprocess.run(command, cwd=cwd, capture_output=True, text=True, env=clean, check=False)
    took = perf_counter() - start
    print(f"{title:34s} {took:6.1f} s")
    if done.returncode:
        sys.exit(f"{' '.join(command)} ended with status {done.returncode}:\n{done.stdout}{done.stderr}")
    return took, done.stdout


def main(python_folder: str | None) -> None:
    """Print the time of each step, their sum, and the first plan's own lines."""
    path = os.pathsep.join(part for part in (python_folder, os.environ["PATH"]) if part)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        bare, _ = timed("reference: a bare environment", ("python3", "-m", "venv", "bare"), folder, path)
        timed("git clone", ("git", "clone", "--quiet", str(CHECKOUT), "fresh"), folder, path)
        fresh = folder / "fresh"
        first, _ = timed("sh demo/run, install included", ("sh", "demo/run"), fresh, path)
        second, plan = timed("leafclock start", START, fresh, path)
        timed("sh demo/run, the second time", ("sh", "demo/run"), fresh, path)
    total = first + second
    print(
        f"to the first plan of one's own: {total:.0f} s (goal {GOAL_S}), {total / bare:.0f} x the reference"
    )
    print("which begins:")
    print("\n".join(f"  {line}" for line in plan.splitlines()[:12]))


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else None)
