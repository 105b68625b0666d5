"""How long chill of a year's hours takes beside xclim, and whether both say the same.

Run by hand, on an idle machine: ``python -m tests.benchmarks.chill``. Goals: 30 traces x 9,600 hours no slower
than xclim 0.62, whose hours are the same arrays in one process, its first call not counted.
"""

from __future__ import annotations

import sys
import warnings
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.science.year.chill import chill_portions, utah_units
from tests.benchmarks.timing import RUNS, seconds

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Sums = Callable[[], Floats]

TRACES, DAYS = 30, 400
XCLIM_ZERO_K = 273.15


def made_up_hours() -> Floats:
    """Return invented temperature (traces, hours): a mild year, a wave each day, days warmer and colder [degC]."""
    hour = np.arange(DAYS * 24)
    year = 10.0 - 9.0 * np.cos(2 * np.pi * (hour / 24 - 25) / 365.25)
    wave = 5.0 * np.sin(2 * np.pi * (hour - 9) / 24)
    days = np.random.default_rng(1).normal(0.0, 3.0, (TRACES, DAYS)).repeat(24, axis=1)
    return np.asarray(year + wave + days)


def of_xclim(hours: Floats) -> tuple[Sums, Sums]:
    """Return xclim's sums of Utah units and of portions of each trace, ready to be called."""
    warnings.simplefilter("ignore")  # about plotting and dask, which have no part in this
    import xarray as xr
    from xclim.indices import chill_portions as portions
    from xclim.indices import chill_units

    time = np.datetime64("2001-01-01", "ns") + np.arange(hours.shape[1]) * np.timedelta64(1, "h")
    series = xr.DataArray(hours, {"time": time}, ("trace", "time"), attrs={"units": "degC"})
    in_one = {"freq": "10YS"}  # one season: by default each calendar year begins without any product
    return (
        lambda: np.asarray(chill_units(series, **in_one).values[:, 0]),
        lambda: np.asarray(portions(series, **in_one).values[:, 0]),
    )


def in_turn(*works: Sums) -> list[float]:
    """Return the median times of works done in turn [s], after one round to warm up."""
    rounds = [[seconds(work, runs=1) for work in works] for _ in range(RUNS + 1)][1:]
    return [median(taken) for taken in zip(*rounds, strict=True)]


def main() -> None:
    """Print a line for each measure of chill."""
    hours = made_up_hours()
    try:
        units, portions = of_xclim(hours)
    except ModuleNotFoundError as missing:
        sys.exit(f"{missing.name} is not installed; right would be: pip install 'leafclock[bench]'")
    # xclim takes a unit away above 17.9 degC, not 18.0; hours between the two are told apart below.
    between = ((hours > 17.9) & (hours <= 18.0)).sum(axis=1)
    pairs: list[tuple[str, Sums, Sums, Floats | float]] = [
        ("Utah units", lambda: utah_units(hours).sum(axis=1), units, between * 0.5),
        ("portions", lambda: chill_portions(hours, XCLIM_ZERO_K).sum(axis=1), portions, 0.0),
    ]
    print(f"{TRACES} traces x {hours.shape[1]} hours, sums per trace; each time is the median of {RUNS}")
    print("measure       here s  xclim s  xclim / here  largest difference  within the convention  of")
    for name, here, there, convention in pairs:
        here_s, there_s = in_turn(here, there)
        off = here() - there()
        print(
            f"{name:12s} {here_s:7.4f} {there_s:8.4f} {there_s / here_s:13.1f} {np.abs(off).max():19.2e}"
            f" {np.abs(off - convention).max():22.1e}  {there().mean():.1f}"
        )


if __name__ == "__main__":
    main()
