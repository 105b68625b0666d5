"""Daily weather from the text of a CSV file: its columns, its units, its faults in one line each."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from calendar_core.weather.daily import DailySeries, FloatArray
from calendar_core.weather.quality import WETTEST_MM, Fault, Unit, as_gaps, check, is_missing_code

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from calendar_core.weather.normals import Normals

MOST_LINES = 20
"""So many faults are listed one by one; the others are counted."""

COLUMNS = ("date", "t_min", "t_max", "precipitation")


def _names(text: str) -> frozenset[str]:
    return frozenset(text.split())


_NAMES = {
    "date": _names("date day time datum tm"),
    "t_min": _names(
        "tmin tn tempmin mintemp mint tminc tminf lowtemp minta temperaturemin mintemperature "
        "minimumtemperature dailyminimumtemperature temperature2mmin"
    ),
    "t_max": _names(
        "tmax tx tempmax maxtemp maxt tmaxc tmaxf hightemp maxta temperaturemax maxtemperature "
        "maximumtemperature dailymaximumtemperature temperature2mmax"
    ),
    "precipitation": _names("precipitation precip prcp rain rainfall rr precipitationmm precipitationsum"),
}

_EMPTY = frozenset({"", "na", "nan", "null", "none", "m", "-", "--"})
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?", re.IGNORECASE)
_DATE = re.compile(r"(\d{4})([-/.]?)(\d{1,2})\2(\d{1,2})(?:[T ].*)?")

_TO_CELSIUS: dict[Unit, Callable[[float], float]] = {
    "C": lambda t: t,
    "F": lambda t: (t - 32) / 1.8,
    "tenths": lambda t: t / 10,
}
_TO_MM: dict[Unit, float] = {"C": 1.0, "F": 25.4, "tenths": 0.1}


class BadWeatherFile(ValueError):  # noqa: N818 - reads as what it is where it is caught
    """The file is refused as a whole; ``lines`` says why, one fault a line."""

    def __init__(self, lines: Sequence[str]) -> None:
        super().__init__("\n".join(lines))
        self.lines = tuple(lines)


@dataclass(frozen=True, slots=True, eq=False)
class DailyFile:
    """What a file holds: the series, precipitation of the same days [mm] (NaN unknown), what was left out."""

    series: DailySeries
    precipitation_mm: FloatArray
    notes: tuple[str, ...]


class _Row(NamedTuple):
    line: int
    day: date
    t_min: float
    t_max: float
    rain: float


@dataclass(slots=True)
class _File:
    """A file being read: how it is written, and the faults found so far."""

    name: str
    unit: Unit
    missing: frozenset[float]
    faults: list[str] = field(default_factory=list)

    def add(self, text: str, line: int | None = None) -> None:
        self.faults.append(f"{self.name}{'' if line is None else f' line {line}'}: {text}")

    def stop_on_faults(self) -> None:
        if self.faults:
            raise BadWeatherFile(_capped(self.faults))


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
    reading = _File(file, unit, frozenset(missing))
    table = _table(text, reading)
    reading.stop_on_faults()
    picked = _pick_columns(table[0][1], columns or {}, reading)
    reading.stop_on_faults()
    rows = _unique_days([row for n, cells in table[1:] if (row := _row(n, cells, picked, reading))], reading)
    if not rows:
        if not reading.faults:
            reading.add("no day can be read; right would be one line for each day below the header")
        reading.stop_on_faults()
    series, rain = _arrays(rows)
    found = check(series, declared=unit, near=near)
    lines = {row.day: row.line for row in rows}
    for fault in found:
        if fault.fatal:
            reading.add(_words(fault), lines.get(fault.day) if fault.days == 1 else None)
    reading.stop_on_faults()
    notes = [f"{file}: {_words(fault)}" for fault in found]
    return DailyFile(as_gaps(series, found), rain, tuple(_capped(notes)))


def _table(text: str, reading: _File) -> list[tuple[int, list[str]]]:
    """Split the text into numbered rows of cells, header first."""
    numbered = [
        (n, line)
        for n, line in enumerate(text.removeprefix("\ufeff").splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not numbered:
        reading.add("is empty; right would be a header line such as date,t_min,t_max")
        return []
    delimiter = max(",;\t", key=numbered[0][1].count)
    # Line by line, so that a stray quotation mark spoils its own line only.
    cells = ((n, next(csv.reader([line], delimiter=delimiter))) for n, line in numbered)
    return [(n, [cell.strip() for cell in row]) for n, row in cells]


def _plain(name: str) -> str:
    """Strip a column name of units in brackets, case and signs: "Max. temp (°C)" becomes "maxtemp"."""
    return re.sub(r"[^a-z0-9]", "", re.sub(r"[(\[].*?[)\]]", "", name).casefold())


def _pick_columns(header: list[str], named: Mapping[str, str], reading: _File) -> dict[str, int]:
    """Return the position of each column; precipitation may be absent."""
    has = ", ".join(header)
    picked: dict[str, int] = {}
    for unknown in sorted(set(named) - set(COLUMNS)):
        reading.add(f"column {unknown!r} cannot be chosen; right would be one of {', '.join(COLUMNS)}")
    for column in COLUMNS:
        if column in named:
            at = [i for i, name in enumerate(header) if name == named[column]]
        else:
            at = [i for i, name in enumerate(header) if _plain(name) in _NAMES[column]]
        if len(at) == 1:
            picked[column] = at[0]
        elif at:
            several = ", ".join(header[i] for i in at)
            reading.add(f"{several} may all be {column}; right would be to name the one column")
        elif column in named:
            reading.add(f"has no column {named[column]!r} for {column}; right would be one of {has}")
        elif column != "precipitation":
            reading.add(f"no column looks like {column}; right would be to name it, one of {has}")
    return picked


def _row(line: int, cells: list[str], picked: Mapping[str, int], reading: _File) -> _Row | None:
    """Read one line; None, with the faults noted, where it cannot be read."""
    before = len(reading.faults)
    if len(cells) <= max(picked.values()):
        reading.add(f"has {len(cells)} cells; right would be {max(picked.values()) + 1} or more", line)
        return None
    day = _date(cells[picked["date"]])
    if day is None:
        written = cells[picked["date"]]
        reading.add(f"date {written!r} is no day; right would be year-month-day, such as 2015-06-24", line)
    low, high = (
        _TO_CELSIUS[reading.unit](_number(cells[picked[c]], c, line, reading)) for c in ("t_min", "t_max")
    )
    rain = float("nan")
    if "precipitation" in picked:
        written = cells[picked["precipitation"]]
        rain = _number(written, "precipitation", line, reading) * _TO_MM[reading.unit]
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


def _number(text: str, column: str, line: int, reading: _File) -> float:
    """Return the number as written, NaN where the cell is empty or a declared code."""
    if text.casefold() in _EMPTY:
        return float("nan")
    plain = text.replace(",", ".")
    if not _NUMBER.fullmatch(plain):
        reading.add(f"{column} {text!r} is no number; right would be 12.5, say, or an empty cell", line)
        return float("nan")
    value = float(plain)
    if value in reading.missing:
        return float("nan")
    if is_missing_code(value, column):
        right = f"an empty cell, or {text} declared as the file's missing value"
        reading.add(f"{column} {text} looks like a code for not measured; right would be {right}", line)
        return float("nan")
    return value


def _unique_days(rows: list[_Row], reading: _File) -> list[_Row]:
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
    table = np.full((3, n), np.nan)
    at = [(row.day - start).days for row in rows]
    table[:, at] = np.array([row[2:] for row in rows]).T
    return DailySeries(start, table[0], table[1]), table[2]


def _words(fault: Fault) -> str:
    """Say a fault of the series in one line."""
    what = f"{fault.column} {round(fault.value, 1):g} °C"
    last = fault.day + timedelta(days=fault.days - 1)
    when = f"{fault.day}" if fault.days == 1 else f"{fault.day} to {last} ({fault.days} days)"
    said = {
        "outside limits": f"{what} is beyond what any station has measured",
        "swapped": "t_min is above t_max on every day" if fault.days > 1 else f"{what} is above t_max",
        "wrong unit": f"{fault.value:.0f} °C on average is implausible, read in the declared unit",
        "spike": f"{when}, {what} stands alone; left out as a gap",
        "stuck": f"{when}, {what} never varies; left out as a gap",
        "gap": f"{when}, no weather; kept as a gap",
    }[fault.code]
    return f"{said}; right would be {fault.right}"


def _capped(lines: Sequence[str]) -> list[str]:
    more = len(lines) - MOST_LINES
    return [*lines[:MOST_LINES], *([f"and {more} more"] if more > 0 else [])]
