"""How long possible years take to be joined from measured days, a forecast's members and past years.

Run by hand, on an idle machine: ``python -m tests.benchmarks.traces``. Goal: 30 years x 400 days with 50 members
under 50 ms. Reference of the same run: NumPy's sort of the same numbers.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np

from calendar_core.weather.daily import DailySeries
from calendar_core.weather.forecasts import ForecastDays
from calendar_core.weather.traces import make_traces
from tests.benchmarks.timing import seconds

YEARS, DAYS, MEMBERS, AHEAD = 30, 400, 50, 15
GOAL_MS = 50
TODAY = date(2020, 3, 1)


def main() -> None:
    """Print the time of a join and how it compares with a sort."""
    rng = np.random.default_rng(1)
    start = date(TODAY.year - YEARS - 1, 1, 1)
    n = (TODAY - start).days
    mean = 10 - 10 * np.cos(2 * np.pi * (np.arange(n) - 20) / 365.25) + rng.normal(0, 3, n)
    measured = DailySeries(start, mean - 5, mean + 5)
    low = 5 + rng.normal(0, 3, (MEMBERS, AHEAD))
    forecast = ForecastDays("invented", datetime(2020, 3, 1, tzinfo=UTC), TODAY, low, low + 8)
    begin = TODAY - timedelta(days=200)
    took = seconds(
        lambda: make_traces(
            measured,
            start=begin,
            end=begin + timedelta(days=DAYS - 1),
            today=TODAY,
            place="invented",
            seed=1,
            forecast=forecast,
        )
    )
    numbers = rng.random((YEARS, DAYS))
    sort = seconds(lambda: np.sort(numbers, axis=1))
    print(
        f"{YEARS} years x {DAYS} days with {MEMBERS} members joined in {1e3 * took:.1f} ms (goal {GOAL_MS})"
    )
    print(f"sorting as many numbers {1e3 * sort:.2f} ms: {took / sort:.0f} x")


if __name__ == "__main__":
    main()
