"""How fast the heat sums of all traces are made, against xclim on the same days.

Run by hand, on an idle machine: ``python -m tests.benchmarks.heat_sums`` where xclim is installed. The reference
is xclim's bare function, without the checks of its indicators; both sums must be the same. Goal: 20 times
faster.
"""

from __future__ import annotations

import sys
from importlib import import_module

import numpy as np

from calendar_core.science.year.degree_days import degree_days, double_sine, next_day, sine
from tests.benchmarks.timing import seconds

TRACES, DAYS = 30, 400
BASE_C = 4.0
GOAL = 20
RUNS = 25


def main() -> None:
    """Print the time of each way, and how many times faster than xclim it is."""
    try:
        xclim, xarray = import_module("xclim.indices"), import_module("xarray")
    except ModuleNotFoundError:
        sys.exit("xclim is not installed here: python -m pip install -e '.[bench]'")
    rng = np.random.default_rng(1)
    season = 10 - 12 * np.cos(2 * np.pi * np.arange(DAYS) / 365)
    t_mean_c = season + rng.normal(0, 4, (TRACES, DAYS))
    t_min_c, t_max_c = t_mean_c - 5, t_mean_c + 5
    time = np.datetime64("2015-01-01", "ns") + np.arange(DAYS) * np.timedelta64(1, "D")
    air = xarray.DataArray(t_mean_c, dims=("trace", "time"), coords={"time": time}, attrs={"units": "degC"})

    expected = xclim.growing_degree_days(air, thresh=f"{BASE_C} degC", freq="YS").sum("time").to_numpy()
    assert np.allclose(np.cumsum(degree_days(t_mean_c, BASE_C), axis=1)[:, -1], expected)
    reference = seconds(lambda: xclim.growing_degree_days(air, thresh=f"{BASE_C} degC", freq="YS"), RUNS)
    print(f"{TRACES} traces of {DAYS} days; reference: xclim growing_degree_days {1e3 * reference:.2f} ms")
    for title, took in {
        f"daily mean (goal {GOAL} x)": seconds(
            lambda: np.cumsum(degree_days(t_mean_c, BASE_C), axis=1), RUNS
        ),
        "single sine": seconds(lambda: np.cumsum(sine(t_min_c, t_max_c, BASE_C), axis=1), RUNS),
        "double sine, upper 30 degC": seconds(
            lambda: np.cumsum(double_sine(t_min_c, t_max_c, next_day(t_min_c), BASE_C, 30.0), axis=1), RUNS
        ),
    }.items():
        print(f"{title:28s} {1e3 * took:7.3f} ms  {reference / took:6.1f} x faster")


if __name__ == "__main__":
    main()
