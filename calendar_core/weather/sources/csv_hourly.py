"""Hourly weather of an own thermometer from the text of a CSV file, whatever its step, units and clock."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from calendar_core.weather.daily import runs
from calendar_core.weather.hourly import HourlySeries, days_of
from calendar_core.weather.quality import COLDEST_C, HOTTEST_C, KELVIN_RIGHT, Fault, Unit, check, in_kelvin
from calendar_core.weather.quality_hourly import check_hourly, without
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
from calendar_core.weather.sources.csv_times import Written, instants, written, zone_of_header

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from zoneinfo import ZoneInfo

    from calendar_core.weather.daily import DailySeries, FloatArray, IntArray
    from calendar_core.weather.hourly import Column
    from calendar_core.weather.normals import Normals
    from calendar_core.weather.quality import Rejected

_NAMES = {
    "time": names("time datetime dateandtime timestamp localtime utctime zeit zeitstempel datumzeit valid"),
    "date": names("date day datum"),
    "temperature": names(
        "temperature temp t tc tf tempc tempf temperaturec temperaturef airtemperature airtemp ta temperature2m "
        "outdoortemperature outdoortemp outsidetemperature outsidetemp tempout temperatur lufttemperatur drybulb"
    ),
    "humidity": names(
        "humidity relativehumidity rh hum relativehumidity2m outdoorhumidity luftfeuchte feuchte"
    ),
    "dew_point": names("dewpoint dewpointc dewpointf dewpoint2m taupunkt"),
}

COLUMNS = tuple(_NAMES)

SHORTEST_MIN, LONGEST_MIN = 1, 180
"""Steps that are read: a reading each minute to one each three hours, as at main and intermediate synoptic
hours. Beyond, the course between two readings is a guess."""

OUTSIDE_SHARE = 0.01
"""Share of values no station has measured above which it is the unit, not the sensor (estimate: a sensor that
fails one time in a hundred is of no use either)."""

_HEADED = re.compile(r"[°(\[]\s*(?:deg\w*\W*)?([CF])\b", re.IGNORECASE)
_HOUR_S = 3600


@dataclass(frozen=True, slots=True, eq=False)
class HourlyFile:
    """What a file holds: whole hours of UTC, the values that were left out, and both in lines to show."""

    hourly: HourlySeries
    rejected: tuple[Rejected, ...]
    notes: tuple[str, ...]


class _Row(NamedTuple):
    time: Written
    values: tuple[float, float, float]


def parse_hourly_csv(
    text: str,
    *,
    file: str,
    zone: ZoneInfo,
    unit: Unit = "C",
    columns: Mapping[str, str] | None = None,
    missing: Sequence[float] = (),
    near: Normals | None = None,
) -> HourlyFile:
    """Read the text of a CSV with a reading every 1 to 180 minutes.

    An hour gets the reading nearest to it within half an hour, and the extremes of all readings of the hour
    before it. Where readings are more than an hour apart, the hours between lie on a straight line.

    Parameters
    ----------
    text : str
        A header line, then one line a reading, separated by comma, semicolon or tab; decimal commas, AM and
        PM, and comments after ``#`` are understood. Date and time may stand in two columns.
    file : str
        The name shown in messages.
    zone : ZoneInfo
        Of the days, and of times that are written without offset and under a header that names no zone.
    unit : {"C", "F", "tenths"}
        Of the temperatures.
    columns : mapping, optional
        Names in the file of `COLUMNS`, such as ``{"temperature": "Balcony"}``; usual names are found.
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
    lines = table(text, reading, header="time,temperature")
    reading.stop_on_faults()
    header = lines[0][1]
    picked = _columns(header, columns or {}, reading)
    reading.stop_on_faults()
    rows = [row for line, cells in lines[1:] if (row := _row(line, cells, picked, reading))]
    if not rows and not reading.faults:
        reading.add("no reading can be found; right would be one line for each below the header")
    clock = zone_of_header(" ".join(header[picked[c]] for c in ("date", "time") if c in picked)) or zone
    at_s, values = _in_order(rows, instants([row.time for row in rows], clock, reading), reading)
    reading.stop_on_faults()
    step_min = float(np.median(np.diff(at_s))) / 60 if len(at_s) > 1 else SHORTEST_MIN
    if not SHORTEST_MIN <= step_min <= LONGEST_MIN:
        right = f"{SHORTEST_MIN} to {LONGEST_MIN} minutes (whole days are read as daily weather)"
        reading.add(f"has a reading every {step_min:g} minutes; right would be {right}")
        reading.stop_on_faults()
    measured = _hours(at_s, values)
    rejected = check_hourly(measured)
    hourly = _saturated(without(measured, rejected))
    notes = [f"{file}: {_words(value)}" for value in rejected]
    if step_min > 60:
        hourly = _bridged(hourly, int(step_min // 60))
        notes.insert(0, f"{file}: a reading every {step_min:g} minutes; hours between lie on a straight line")
    _refuse_wrong_unit(measured, days_of(hourly, zone).series, near, reading)
    return HourlyFile(hourly, tuple(rejected), tuple(capped(notes)))


def has_temperature(header: list[str]) -> bool:
    """Whether a header names a temperature in a usual way."""
    return has_column(header, _NAMES["temperature"])


def _columns(header: list[str], named: Mapping[str, str], reading: Reading) -> dict[str, int]:
    """Return the positions of the columns; a date column that holds the time as well counts as the time."""
    optional = names("time date humidity dew_point")
    picked = pick_columns(header, named, _NAMES, reading, optional=optional)
    if "time" not in picked and "date" in picked:
        picked["time"] = picked.pop("date")
    if "time" not in picked and not reading.faults:
        reading.add(f"no column looks like time; right would be to name it, one of {', '.join(header)}")
    headed = _HEADED.search(header[picked["temperature"]]) if "temperature" in picked else None
    if headed and (headed[1].upper() == "F") != (reading.unit == "F"):
        name = header[picked["temperature"]]
        reading.add(f"{name} was declared as unit {reading.unit}; right would be {headed[1].upper()}")
    return picked


def _row(line: int, cells: list[str], picked: Mapping[str, int], reading: Reading) -> _Row | None:
    """Read one line; None, with the faults noted, where it cannot be read."""
    before = len(reading.faults)
    if not has_cells(line, cells, picked, reading):
        return None
    time = written(" ".join(cells[picked[c]] for c in ("date", "time") if c in picked), line, reading)
    temperature, humidity, dew_point = (
        number(cells[picked[c]], c, line, reading) if c in picked else float("nan")
        for c in ("temperature", "humidity", "dew_point")
    )
    to_c = TO_CELSIUS[reading.unit]
    good = time is not None and len(reading.faults) == before
    return _Row(time, (to_c(temperature), humidity, to_c(dew_point))) if time and good else None


def _in_order(
    rows: Sequence[_Row], when: Sequence[datetime | None], reading: Reading
) -> tuple[IntArray, FloatArray]:
    """Return the seconds since 1970 (n,) in order and the values (n, 3) then; times given twice are faults."""
    first: dict[datetime, _Row] = {}
    for row, moment in zip(rows, when, strict=True):
        if moment in first:
            again = f"{row.time.text} comes again after line {first[moment].time.line}"
            reading.add(f"{again}; right would be one line for each time", row.time.line)
        elif moment:
            first[moment] = row
    moments = sorted(first)
    seconds = np.array([int(moment.timestamp()) for moment in moments], dtype=np.int64)
    return seconds, np.array([first[moment].values for moment in moments]).reshape(-1, 3)


def _hours(at_s: IntArray, values: FloatArray) -> HourlySeries:
    # A reading serves the hour it is nearest to, half past the one before, and lies in the hour that ends next.
    serves, ends = -((_HOUR_S // 2 - at_s) // _HOUR_S), -(-at_s // _HOUR_S)
    first, n = int(serves[0]), int(ends[-1] - serves[0]) + 1
    temperature = values[:, 0]
    t_c = _nearest(at_s, serves, temperature, first, n)
    low, high = np.full(n, np.nan), np.full(n, np.nan)
    np.fmin.at(low, ends - first, temperature)
    np.fmax.at(high, ends - first, temperature)
    found: dict[Column, FloatArray] = {"t_c": t_c, "t_low_c": low, "t_high_c": high}
    others: tuple[tuple[Column, int], ...] = (("humidity_percent", 1), ("dew_point_c", 2))
    for column, k in others:
        if not np.isnan(values[:, k]).all():
            found[column] = _nearest(at_s, serves, values[:, k], first, n)
    return HourlySeries(datetime.fromtimestamp(first * _HOUR_S, UTC), found)


def _nearest(at_s: IntArray, serves: IntArray, values: FloatArray, first: int, n: int) -> FloatArray:
    """Return for each hour the value nearest to it, the earlier of two as near."""
    known = ~np.isnan(values)
    at_s, serves, values = at_s[known], serves[known], values[known]
    order = np.lexsort((at_s, np.abs(at_s - serves * _HOUR_S), serves))
    hours, best = np.unique(serves[order], return_index=True)
    out = np.full(n, np.nan)
    out[hours - first] = values[order][best]
    return out


def _bridged(hourly: HourlySeries, most_h: int) -> HourlySeries:
    """Return the series with the temperature of up to ``most_h`` hours between two known ones."""
    known = ~np.isnan(hourly["t_c"])
    hours = np.arange(len(known))
    between = np.zeros(len(known), dtype=bool)
    for begin, n in zip(*runs(~known), strict=True):
        between[begin : begin + n] = n <= most_h and begin > 0 and begin + n < len(known)
    t_c = hourly["t_c"].copy()
    if between.any():
        t_c[between] = np.interp(hours[between], hours[known], t_c[known])
    return replace(hourly, values={**hourly.values, "t_c": t_c})


def _refuse_wrong_unit(
    measured: HourlySeries, days: DailySeries, near: Normals | None, reading: Reading
) -> None:
    t_c = measured["t_c"]
    if (mean := in_kelvin(t_c[~np.isnan(t_c)], reading.unit)) is not None:
        reading.add(words(Fault("wrong unit", days.start, "both", mean, KELVIN_RIGHT)))
        reading.stop_on_faults()
    outside = t_c[(t_c < COLDEST_C) | (t_c > HOTTEST_C)]
    if len(outside) > max(1, OUTSIDE_SHARE * np.count_nonzero(~np.isnan(t_c))):
        what = f"{len(outside)} hours are beyond what any station has measured, such as {outside[0]:.0f} °C"
        reading.add(f"{what}; right would be another unit than {reading.unit}")
    else:
        for fault in check(days, declared=reading.unit, near=near):
            if fault.code == "wrong unit":
                reading.add(words(fault))
    reading.stop_on_faults()


def _saturated(hourly: HourlySeries) -> HourlySeries:
    """Return the series with humidity at most 100 %."""
    if "humidity_percent" not in hourly.values:
        return hourly
    humidity = np.minimum(hourly["humidity_percent"], 100.0)
    return replace(hourly, values={**hourly.values, "humidity_percent": humidity})


def _words(value: Rejected) -> str:
    when = value.when.strftime("%Y-%m-%d %H:%M UTC")
    return f"{when}, {value.column} {round(value.value, 1):g} left out as a gap, {value.reason}"
