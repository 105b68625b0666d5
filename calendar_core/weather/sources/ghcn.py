"""Daily station records of GHCN-Daily, the archive of NOAA's National Centers for Environmental Information."""

from __future__ import annotations

import csv
import re
from datetime import date, timedelta
from itertools import count, zip_longest
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from calendar_core.weather.daily import DailySeries, FloatArray
from calendar_core.weather.quality import Rejected, check, leave_out
from calendar_core.weather.sources.answers import as_text
from calendar_core.weather.sources.csv_table import BadWeatherFile, Reading
from calendar_core.weather.sources.http import ServiceError
from calendar_core.weather.sources.protocol import StationRecord

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from calendar_core.weather.sources.protocol import Access

BASE_URL = "https://www.ncei.noaa.gov/pub/data/ghcn/daily"

CREDIT = (
    "Station records: NOAA National Centers for Environmental Information, GHCN-Daily "
    "(Menne et al. 2012, doi:10.1175/JTECH-D-11-00103.1)"
)

COLUMN_OF = {"TMIN": "t_min", "TMAX": "t_max", "PRCP": "precipitation"}
"""Elements that are read; all three are kept in tenths, of degC and of mm."""

FLAGS = {
    "D": "repeats other days, months or years of the record",
    "G": "lies far off all other values of its month",
    "I": "contradicts the other values of the day",
    "K": "belongs to a run of equal values, or one too frequent",
    "L": "belongs to a sum over several days of the wrong length",
    "M": "contradicts the record as a whole",
    "N": "is a zero put for nothing measured",
    "O": "is far off what the time of the year has there",
    "R": "contradicts the days before and after",
    "S": "contradicts the stations around",
    "T": "leaps from the days before and after",
    "W": "is too warm for the snow of the day",
    "X": "is beyond what any station has measured",
    "Z": "was found wrong by hand",
}
"""Why the archive's own checks fail a value (its Q-FLAG; Durre et al. 2010, J. Appl. Meteorol. Climatol. 49:1615)."""

NOT_MEASURED = -9999

NOON = 1200
"""A maximum read before this hour is that of the afternoon before (common practice)."""

MOST_BYTES = 200_000_000
"""Unpacked. Records of 150 years with twenty elements have some 30 MB."""

_DAY, _TENTHS, _HOUR = re.compile(r"[0-9]{8}"), re.compile(r"-?[0-9]{1,9}"), re.compile(r"[0-9]{1,4}")
_STATION = re.compile(r"[A-Z]{2}[A-Z0-9_]{9}")
_FIELDS = 8


class _Value(NamedTuple):
    """One value as the archive keeps it; ``m_flag`` and ``q_flag`` "" and ``hour`` None where it has none."""

    line: int
    station: str
    day: date
    column: str
    tenths: int
    m_flag: str
    q_flag: str
    hour: int | None


class Ghcn:
    """Station records of GHCN-Daily by their identifier, such as USW00094728. A record is kept and renewed."""

    name = "GHCN-Daily"
    credit = CREDIT

    def __init__(self, access: Access) -> None:
        self._client, self._base_url = access.client, access.url(BASE_URL)

    def station(self, station: str, *, shift_maximum: bool = True) -> StationRecord:
        """Return the whole record of a station.

        Raises
        ------
        ServiceError
            When there is no such station, or no usable answer.
        """
        if not _STATION.fullmatch(station):
            right = "11 characters such as USW00094728"
            raise ServiceError("refused", f"{station!r} is no station of GHCN-Daily; right would be {right}")

        def read(body: bytes) -> StationRecord:
            text = as_text(body, MOST_BYTES)
            try:
                record = parse_by_station(text, file=f"{station}.csv", shift_maximum=shift_maximum)
            except BadWeatherFile as bad:
                raise ValueError(bad.lines[0]) from bad
            if record.station != station:
                raise ValueError(f"{station}.csv holds {record.station}; right would be {station}")
            return record

        url = f"{self._base_url}/by_station/{station}.csv.gz"
        return self._client.ask(url, None, read, keep="conditional")


def parse_by_station(text: str, *, file: str = "GHCN-Daily", shift_maximum: bool = True) -> StationRecord:
    """Read a file of by_station: eight fields a value, with or without header.

    Parameters
    ----------
    text : str
        Lines of station, day, element, value, M-FLAG, Q-FLAG, S-FLAG and OBS-TIME.
    file : str
        The name shown in messages.
    shift_maximum : bool
        Count a maximum that was read before noon for the day before.

    Raises
    ------
    BadWeatherFile
        With all lines that cannot be read.
    """
    reading = Reading(file)
    return _record(_by_station(text, reading), reading, shift_maximum=shift_maximum)


def parse_wide(text: str, *, file: str = "GHCN-Daily", shift_maximum: bool = True) -> StationRecord:
    """Read a file of access: a line a day, a column an element, its flags in X_ATTRIBUTES. As `parse_by_station`."""
    reading = Reading(file)
    return _record(_wide(text, reading), reading, shift_maximum=shift_maximum)


def parse_dly(text: str, *, file: str = "GHCN-Daily") -> StationRecord:
    """Read a .dly file: a line a month and element in fixed columns, without hours of observation."""
    reading = Reading(file)
    return _record(_dly(text, reading), reading, shift_maximum=False)


def _by_station(text: str, reading: Reading) -> Iterator[_Value]:
    for line, row in enumerate(_lines(csv.reader(text.removeprefix("\ufeff").splitlines()), reading), 1):
        if not row or (line == 1 and row[0].strip().upper() == "ID"):
            continue
        if len(row) != _FIELDS:
            reading.add(f"has {len(row)} fields; right would be {_FIELDS}", line)
            continue
        if row[2].strip() in COLUMN_OF:
            station, day, element, value, m_flag, q_flag, _, hour = (cell.strip() for cell in row)
            yield from _value(line, (station, day, element, value), (m_flag, q_flag, hour), reading)


def _wide(text: str, reading: Reading) -> Iterator[_Value]:
    lines = _lines(csv.reader(text.removeprefix("\ufeff").splitlines()), reading)
    header = next(lines, [])
    if not {"STATION", "DATE"}.issubset(header) or not COLUMN_OF.keys() & set(header):
        has = ", ".join(header) or "nothing"
        reading.add(f"has the columns {has}; right would be STATION, DATE, TMAX, TMAX_ATTRIBUTES and so on")
        return
    for line, cells in enumerate(lines, 2):
        row = dict(zip_longest(header, cells[: len(header)], fillvalue=""))
        for element in COLUMN_OF:
            if value := row.get(element, "").strip():
                flags = [flag.strip() for flag in row.get(f"{element}_ATTRIBUTES", "").split(",")]
                m_flag, q_flag, _, hour = (*flags, "", "", "", "")[:4]
                what = row["STATION"], row["DATE"].replace("-", ""), element, value
                yield from _value(line, what, (m_flag, q_flag, hour), reading)


def _lines(rows: Iterator[list[str]], reading: Reading) -> Iterator[list[str]]:
    """Yield the rows of a table up to one that is none of CSV."""
    for n in count(1):
        try:
            row = next(rows)
        except StopIteration:
            return
        except csv.Error as error:
            reading.add(f"{error}; right would be a line of CSV", n)
            return
        yield row


def _dly(text: str, reading: Reading) -> Iterator[_Value]:
    for line, row in enumerate(text.splitlines(), 1):
        station, month, element = row[:11], row[11:17], row[17:21]
        for day, at in enumerate(range(21, len(row), 8), 1) if element in COLUMN_OF else ():
            value, flags = row[at : at + 5].strip(), row[at + 5 : at + 8].ljust(3)
            if value and value != str(NOT_MEASURED):
                what = station, f"{month}{day:02}", element, value
                yield from _value(line, what, (flags[0].strip(), flags[1].strip(), ""), reading)


def _value(
    line: int, what: tuple[str, str, str, str], flags: tuple[str, str, str], reading: Reading
) -> Iterator[_Value]:
    """Yield a value if it can be read and was measured."""
    station, written, element, value = what
    m_flag, q_flag, hour = flags
    try:
        day = date.fromisoformat(written if _DAY.fullmatch(written) else "")
    except ValueError:
        reading.add(f"{written!r} is no day; right would be year, month and day such as 20240131", line)
        return
    if not _TENTHS.fullmatch(value):
        reading.add(
            f"{element} {value!r} is no whole number; right would be tenths, as the archive keeps", line
        )
    elif int(value) != NOT_MEASURED:
        at = int(hour) if _HOUR.fullmatch(hour) else None
        yield _Value(line, station, day, COLUMN_OF[element], int(value), m_flag, q_flag, at)


def _record(values: Iterable[_Value], reading: Reading, *, shift_maximum: bool) -> StationRecord:
    found = list(values)
    stations = sorted({value.station for value in found})
    if len(stations) > 1:
        reading.add(f"holds {' and '.join(stations[:2])}; right would be one station")
    if not found and not reading.faults:
        reading.add(
            f"holds no {', '.join(COLUMN_OF)}; right would be the record of a station that measures them"
        )
    reading.stop_on_faults()
    early = sum(_is_early(value) for value in found)
    kept, rejected = _sorted_out(found, reading, shift_maximum=shift_maximum)
    reading.stop_on_faults()
    series, rain = _arrays(kept, [value.day for value in found])
    checked, at_fault = leave_out(series, check(series))
    where = "counted for the day before (common practice)" if shift_maximum else "left on that day"
    notes = [f"maxima read before noon of the day they are booked on: {early}, {where}"] * (early > 0)
    if rejected or at_fault:
        notes.append(f"values left out: {len(rejected)} by the archive's checks, {len(at_fault)} by ours")
    rejected = sorted([*rejected, *at_fault], key=lambda value: (str(value.when), value.column))
    return StationRecord(stations[0], checked, rain, tuple(rejected), tuple(notes))


def _is_early(value: _Value) -> bool:
    return value.column == "t_max" and value.hour is not None and value.hour < NOON


def _sorted_out(
    found: Iterable[_Value], reading: Reading, *, shift_maximum: bool
) -> tuple[Mapping[tuple[date, str], float], list[Rejected]]:
    """Return the values to keep by day and column, and those to leave out."""
    kept: dict[tuple[date, str], float] = {}
    rejected: list[Rejected] = []
    booked: set[tuple[date, str]] = set()
    # Where the hour of observation changes a day may get two maxima: the one read on it stands.
    for value in sorted(found, key=lambda value: shift_maximum and _is_early(value)):
        shifted = shift_maximum and _is_early(value)
        day = value.day - timedelta(days=1) if shifted else value.day
        if (value.day, value.column) in booked:
            reading.add(f"{value.column} of {value.day} comes again; right would be once", value.line)
        booked.add((value.day, value.column))
        reason = _reason(value)
        if not reason and (day, value.column) in kept:
            reason = "double: the maximum read on the day itself stands"
        if reason:
            rejected.append(Rejected(day, value.column, value.tenths / 10, reason))
        else:
            kept[day, value.column] = value.tenths / 10
    return kept, rejected


def _reason(value: _Value) -> str:
    """Return why a value is left out, "" if it is not."""
    if value.q_flag:
        return f"flag {value.q_flag}: {FLAGS.get(value.q_flag, 'fails a check of the archive')}"
    if value.m_flag == "P":
        return "flag P: nothing was written down, and zero presumed"
    return ""


def _arrays(kept: Mapping[tuple[date, str], float], days: list[date]) -> tuple[DailySeries, FloatArray]:
    start = min([*days, *(day for day, _ in kept)])
    n = (max(days) - start).days + 1
    columns = {column: np.full(n, np.nan) for column in COLUMN_OF.values()}
    for (day, column), value in kept.items():
        columns[column][(day - start).days] = value
    return DailySeries(start, columns["t_min"], columns["t_max"]), columns["precipitation"]
