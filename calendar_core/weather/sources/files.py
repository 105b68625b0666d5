"""A weather file of any kind that is read: which kind it is, and its days."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.weather.hourly import days_of
from calendar_core.weather.quality import check, leave_out
from calendar_core.weather.sources import csv_daily, csv_hourly, ghcn
from calendar_core.weather.sources.csv_table import Reading, capped, table, words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from zoneinfo import ZoneInfo

    from calendar_core.weather.daily import DailySeries, FloatArray
    from calendar_core.weather.normals import Normals
    from calendar_core.weather.quality import Rejected, Unit

_STATION_RECORDS = (
    (re.compile(r"(ID,DATE,ELEMENT\b|[A-Z0-9_]{11},\d{8},[A-Z0-9]{4},)"), ghcn.parse_by_station),
    (re.compile(r'"?STATION"?,"?DATE"?,.*"?[A-Z]{4}_ATTRIBUTES'), ghcn.parse_wide),
    (re.compile(r"[A-Z]{2}[A-Z0-9_]{9}\d{6}[A-Z]{4}[\s\d-]{5}"), ghcn.parse_dly),
)
_HOURLY_ONLY = frozenset(csv_hourly.COLUMNS) - frozenset(csv_daily.COLUMNS)


@dataclass(frozen=True, slots=True, eq=False)
class WeatherFile:
    """Days of a file: precipitation of the same days [mm] (NaN unknown), and the values that were left out.

    ``station`` and ``credit`` are what the file itself says, "" if it says nothing.
    """

    series: DailySeries
    precipitation_mm: FloatArray
    rejected: tuple[Rejected, ...]
    notes: tuple[str, ...]
    station: str = ""
    credit: str = ""


def parse_file(
    text: str,
    *,
    file: str,
    zone: ZoneInfo,
    unit: Unit = "C",
    columns: Mapping[str, str] | None = None,
    missing: Sequence[float] = (),
    near: Normals | None = None,
    other: DailySeries | None = None,
) -> WeatherFile:
    """Read the text of a daily or hourly CSV (`csv_daily`, `csv_hourly`) or of a station record (`ghcn`).

    A file with a lowest and a highest temperature is daily, one with a temperature alone hourly. ``other`` are
    days of another source at the same place, against which single values are held.

    Raises
    ------
    BadWeatherFile
        With all faults of the file, the first 20 in words and the others counted.
    """
    first = next((line for line in text.removeprefix("\ufeff").splitlines() if line.strip()), "")
    for shape, parse in _STATION_RECORDS:
        if shape.match(first):
            record = parse(text, file=file)
            read = WeatherFile(
                record.series, record.precipitation_mm, record.rejected,
                tuple(f"{file}: {note}" for note in record.notes), record.station, ghcn.CREDIT,
            )  # fmt: skip
            break
    else:
        if _is_hourly(text, columns or {}):
            hours = csv_hourly.parse_hourly_csv(
                text, file=file, zone=zone, unit=unit, columns=columns, missing=missing, near=near
            )
            read = _days(hours, zone)
        else:
            daily = csv_daily.parse_daily_csv(
                text, file=file, unit=unit, columns=columns, missing=missing, near=near
            )
            read = WeatherFile(daily.series, daily.precipitation_mm, daily.rejected, daily.notes)
    return read if other is None else _held_against(read, other, file)


def _days(hours: csv_hourly.HourlyFile, zone: ZoneInfo) -> WeatherFile:
    """Return the days of a file of hours, from its first whole one to its last."""
    days = days_of(hours.hourly, zone)
    known = np.flatnonzero(days.series.measured)
    first, last = (int(known[0]), int(known[-1])) if known.size else (0, -1)
    start = days.series.start + timedelta(days=first)
    whole = days.series.window(start, days.series.start + timedelta(days=last))
    return WeatherFile(whole, days.precipitation_mm[first : last + 1], hours.rejected, hours.notes)


def _is_hourly(text: str, columns: Mapping[str, str]) -> bool:
    if set(columns) & {"t_min", "t_max"}:
        return False
    if set(columns) & _HOURLY_ONLY:
        return True
    lines = table(text, Reading(""), header="")
    header = lines[0][1] if lines else []
    return csv_hourly.has_temperature(header) and not csv_daily.has_extremes(header)


def _held_against(read: WeatherFile, other: DailySeries, file: str) -> WeatherFile:
    odd = [fault for fault in check(read.series, other=other) if fault.code == "other source"]
    series, rejected = leave_out(read.series, odd)
    notes = (*read.notes, *capped([f"{file}: {words(fault)}" for fault in odd]))
    return WeatherFile(
        series, read.precipitation_mm, (*read.rejected, *rejected), notes, read.station, read.credit
    )
