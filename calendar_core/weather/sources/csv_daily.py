"""Daily weather from the text of a CSV file: its columns, its units, its faults in one line each."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from calendar_core.weather.daily import DailySeries, FloatArray
from calendar_core.weather.quality import WETTEST_MM, Rejected, Unit, check, leave_out
from calendar_core.weather.sources.csv_table import (
    TO_CELSIUS,
    Reading,
    capped,
    has_cells,
    has_column,
    names,
    number,
    pick_columns,
    table,
    words,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from calendar_core.weather.normals import Normals

_NAMES = {
    "date": names("date day time datum tm"),
    "t_min": names(
        "tmin tn tempmin mintemp mint tminc tminf lowtemp minta temperaturemin mintemperature "
        "minimumtemperature dailyminimumtemperature temperature2mmin"
    ),
    "t_max": names(
        "tmax tx tempmax maxtemp maxt tmaxc tmaxf hightemp maxta temperaturemax maxtemperature "
        "maximumtemperature dailymaximumtemperature temperature2mmax"
    ),
    "precipitation": names("precipitation precip prcp rain rainfall rr precipitationmm precipitationsum"),
}

COLUMNS = tuple(_NAMES)

_DATE = re.compile(r"(\d{4})([-/.]?)(\d{1,2})\2(\d{1,2})(?:[T ].*)?")

_TO_MM: dict[Unit, float] = {"C": 1.0, "F": 25.4, "tenths": 0.1}


@dataclass(frozen=True, slots=True, eq=False)
class DailyFile:
    """What a file holds: the series, precipitation of the same days [mm] (NaN unknown), what was left out."""

    series: DailySeries
    precipitation_mm: FloatArray
    rejected: tuple[Rejected, ...]
    notes: tuple[str, ...]


class _Row(NamedTuple):
    line: int
    day: date
    t_min: float
    t_max: float
    rain: float


def parse_daily_csv(
    text: str,
    *,
    file: str,
    unit: Unit = "C",
    columns: Mapping[str, str] | None = None,
    missing: Sequence[float] = (),
    near: Normals | None = None,
) -> DailyFile:
    """Read the text of a daily CSV.

    Parameters
    ----------
    text : str
        A header line, then one line a day in any order, separated by comma, semicolon or tab. Decimal commas
        are read too. Lines that begin with ``#`` are comments. Dates are year-month-day.
    file : str
        The name shown in messages.
    unit : {"C", "F", "tenths"}
        Of both temperatures; precipitation is then read in mm, inches or tenths of mm.
    columns : mapping, optional
        Names in the file of `COLUMNS`, such as ``{"t_min": "TMIN"}``; usual names are found by themselves.
    missing : sequence of float, optional
        Numbers the file writes for "not measured". Others of that look are refused, not guessed.
    near : Normals, optional
        Normals of a place within some 500 km, to notice a wrong unit in part of a year.

    Raises
    ------
    BadWeatherFile
        With all faults of the file, the first 20 in words and the others counted.
    """
    reading = Reading(file, unit, frozenset(missing))
    lines = table(text, reading, header="date,t_min,t_max")
    reading.stop_on_faults()
    picked = pick_columns(lines[0][1], columns or {}, _NAMES, reading, optional=names("precipitation"))
    reading.stop_on_faults()
    rows = _unique_days([row for n, cells in lines[1:] if (row := _row(n, cells, picked, reading))], reading)
    if not rows:
        if not reading.faults:
            reading.add("no day can be read; right would be one line for each day below the header")
        reading.stop_on_faults()
    series, rain = _arrays(rows)
    found = check(series, declared=unit, near=near)
    line_of = {row.day: row.line for row in rows}
    for fault in found:
        if fault.fatal:
            reading.add(words(fault), line_of.get(fault.day) if fault.days == 1 else None)
    reading.stop_on_faults()
    notes = [f"{file}: {words(fault)}" for fault in found]
    kept, rejected = leave_out(series, found)
    return DailyFile(kept, rain, tuple(rejected), tuple(capped(notes)))


def has_extremes(header: list[str]) -> bool:
    """Whether a header names a lowest or a highest temperature in a usual way."""
    return has_column(header, _NAMES["t_min"]) or has_column(header, _NAMES["t_max"])


def _row(line: int, cells: list[str], picked: Mapping[str, int], reading: Reading) -> _Row | None:
    """Read one line; None, with the faults noted, where it cannot be read."""
    before = len(reading.faults)
    if not has_cells(line, cells, picked, reading):
        return None
    day = _date(cells[picked["date"]])
    if day is None:
        written = cells[picked["date"]]
        reading.add(f"date {written!r} is no day; right would be year-month-day, such as 2015-06-24", line)
    low, high = (
        TO_CELSIUS[reading.unit](number(cells[picked[c]], c, line, reading)) for c in ("t_min", "t_max")
    )
    rain = float("nan")
    if "precipitation" in picked:
        written = cells[picked["precipitation"]]
        rain = number(written, "precipitation", line, reading) * _TO_MM[reading.unit]
        if rain < 0 or rain > WETTEST_MM:
            reading.add(f"precipitation {written} cannot be; right would be 0 to {WETTEST_MM:g} mm", line)
    return _Row(line, day, low, high, rain) if day and len(reading.faults) == before else None


def _date(text: str) -> date | None:
    match = _DATE.fullmatch(text)
    if not match:
        return None
    year, _, month, day = match.groups()
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        return None


def _unique_days(rows: list[_Row], reading: Reading) -> list[_Row]:
    first: dict[date, _Row] = {}
    for row in rows:
        if row.day in first:
            before = first[row.day].line
            reading.add(f"{row.day} comes again after line {before}; right would be one line a day", row.line)
        else:
            first[row.day] = row
    return list(first.values())


def _arrays(rows: list[_Row]) -> tuple[DailySeries, FloatArray]:
    """Put rows in any order onto the days from the first to the last."""
    start = min(row.day for row in rows)
    n = (max(row.day for row in rows) - start).days + 1
    grid = np.full((3, n), np.nan)
    at = [(row.day - start).days for row in rows]
    grid[:, at] = np.array([row[2:] for row in rows]).T
    return DailySeries(start, grid[0], grid[1]), grid[2]
