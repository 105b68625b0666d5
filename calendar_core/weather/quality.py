"""Quality gate for daily weather: what cannot be true, and what is left out as a gap.

Fatal faults refuse the whole file, because one wrong unit or exchanged column makes every date of the plan
wrong, and because the grower can mend them in a minute: exchanged lowest and highest, values no station has
measured, undeclared codes for "missing", a day given twice, a wrong unit. The rest becomes a gap that the
traces know how to fill: days without values, single spikes, stuck readings. Hours have their own gate in
`calendar_core.weather.quality_hourly`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Literal

import numpy as np

from calendar_core.weather.daily import BoolArray, DailySeries, FloatArray, runs, years_and_slots
from calendar_core.weather.normals import Normals, daily_year

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Unit = Literal["C", "F", "tenths"]
"""Degrees Celsius, degrees Fahrenheit, tenths of a degree Celsius."""

Code = Literal[
    "swapped", "outside limits", "missing code", "duplicate day", "wrong unit", "spike", "stuck", "gap",
    "other source",
]  # fmt: skip

FATAL: frozenset[Code] = frozenset(
    {"swapped", "outside limits", "missing code", "duplicate day", "wrong unit"}
)

COLDEST_C, HOTTEST_C = -90.0, 57.0
"""Lowest and highest air temperature measured, rounded outwards: -89.2 degC at Vostok on 21 July 1983, 56.7
degC at Furnace Creek on 10 July 1913 (World Meteorological Organization, archive of extremes)."""

KELVIN = 273.15
"""0 degC, by definition of the scale."""

KELVIN_RIGHT = f"degrees Celsius (this looks like Kelvin: {KELVIN:g} is to be taken off)"

WETTEST_MM = 1825.0
"""Most rain in 24 hours: Foc-Foc, La Reunion, January 1966 (same archive; from memory)."""

HOTTEST_MONTH_C = 42.3
"""Warmest month measured: Furnace Creek, July 2018 (Guinness World Records)."""

COLDEST_SUMMER_C = 0.0
"""Where the warmest month is colder than this, ice stays all year and nothing grows (climate EF of W.
Koeppen, 1936; from memory)."""

SPIKE_C = 25.0
"""A value this far above or below both neighbours is a spike (check of GHCN-Daily, Durre et al. 2010, J.
Appl. Meteorol. Climatol. 49:1615)."""

STUCK_D = 20
"""So many equal values in a row are stuck (same checks: 15 to 20)."""

FAR_FROM_NORMAL_C = 12.0
"""Mean difference from the normals of the nearest place that no season explains: three times the spread of
annual means of places 800 km apart (3.6 degC, see `calendar_core.weather.traces.PLACE_SD_C`). A wrong unit
shifts far more: 0.8 x T + 32, so 24 degC at -10 degC."""

OTHER_SOURCE_C, OTHER_SOURCE_D = 10.0, 30
"""Beyond the usual difference of two sources a value may stand so far off all of the other's values of the day
before, the day and the day after (spatial corroboration check of GHCN-Daily, Durre et al. 2010; from memory);
a month of shared days tells the usual difference (as `calendar_core.weather.combine`)."""

MISSING_CODES = (-99.9, -999.0, -999.9, -9999.0, 999.0, 999.9, 9999.0)
"""Numbers that files write for "not measured" (common practice of station files)."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: on ``day`` (and ``days`` - 1 more) ``value`` in ``column`` is ``code``.

    ``right`` says what would be right. ``column`` is t_min, t_max, both or precipitation.
    """

    code: Code
    day: date
    column: str
    value: float
    right: str
    days: int = 1

    @property
    def fatal(self) -> bool:
        """Whether the whole file is refused."""
        return self.code in FATAL


@dataclass(frozen=True, slots=True)
class Rejected:
    """A value that was left out: at ``when`` (an hour of UTC or a day) ``value`` in ``column``, and why."""

    when: datetime | date
    column: str
    value: float
    reason: str


def is_missing_code(value: float, column: str) -> bool:
    """Whether a number as written in the file looks like a code for "not measured".

    Of precipitation 999 may be true (tenths of mm).

    >>> is_missing_code(-999, "t_min"), is_missing_code(-9.9, "t_min"), is_missing_code(999, "precipitation")
    (True, False, False)
    """
    return value in MISSING_CODES and (column != "precipitation" or not 0 <= value < 1000)


def check(
    series: DailySeries,
    *,
    declared: Unit = "C",
    near: Normals | None = None,
    other: DailySeries | None = None,
) -> list[Fault]:
    """Return all faults of a series that was read as ``declared``, fatal ones first, each in order of days.

    ``near`` are the normals of a bundled place within some 500 km; with them a wrong unit is also seen in
    part of a year. A wrong unit hides the values outside limits that follow from it. ``other`` are the days of
    another source at the same place; their usual difference is taken off first.
    """
    unit = list(_wrong_unit(series, declared, near))
    outside = [] if unit else [f for name, v in _columns(series) for f in _outside(series, name, v)]
    rest = [f for name, v in _columns(series) for f in (*_spikes(series, name, v), *_stuck(series, name, v))]
    apart = (
        [] if other is None else [f for name, v in _columns(series) for f in _apart(series, name, v, other)]
    )
    faults = [*outside, *_swapped(series), *rest, *apart, *_gaps(series)]
    return [*unit, *sorted(faults, key=lambda f: (not f.fatal, f.day, f.column))]


def leave_out(series: DailySeries, faults: Sequence[Fault]) -> tuple[DailySeries, list[Rejected]]:
    """Return the series without the values that are at fault, fatal or not, and these values.

    For records that cannot be mended and sent again, such as those of a station. A wrong unit is no fault of
    single values and stays the caller's to refuse.
    """
    kept = {"t_min": series.t_min_c.copy(), "t_max": series.t_max_c.copy()}
    rejected = []
    for fault in faults:
        if fault.code in ("gap", "wrong unit"):
            continue
        reason = f"{fault.code}: right would be {fault.right}"
        first = (fault.day - series.start).days
        for column in kept if fault.code == "swapped" else (fault.column,):
            for at in first + np.flatnonzero(~np.isnan(kept[column][first : first + fault.days])):
                day = series.start + timedelta(days=int(at))
                rejected.append(Rejected(day, column, float(kept[column][at]), reason))
                kept[column][at] = np.nan
    return DailySeries(series.start, kept["t_min"], kept["t_max"]), rejected


def _columns(series: DailySeries) -> tuple[tuple[str, FloatArray], ...]:
    return ("t_min", series.t_min_c), ("t_max", series.t_max_c)


def _days(series: DailySeries, mask: BoolArray) -> Iterator[tuple[int, date]]:
    for at in np.flatnonzero(mask):
        yield int(at), series.start + timedelta(days=int(at))


def _outside(series: DailySeries, column: str, values: FloatArray) -> Iterator[Fault]:
    right = f"{COLDEST_C:g} to {HOTTEST_C:g} °C, or another unit"
    for at, day in _days(series, (values < COLDEST_C) | (values > HOTTEST_C)):
        yield Fault("outside limits", day, column, float(values[at]), right)


def _swapped(series: DailySeries) -> Iterator[Fault]:
    wrong = series.t_min_c > series.t_max_c
    if series.measured.sum() > 1 and wrong.sum() == series.measured.sum():
        # Every single day: it is the columns, not the days.
        first = float(series.t_min_c[np.flatnonzero(wrong)[0]])
        yield Fault(
            "swapped", series.start, "both", first, "the columns of t_min and t_max exchanged", len(series)
        )
        return
    for at, day in _days(series, wrong):
        low, high = float(series.t_min_c[at]), float(series.t_max_c[at])
        yield Fault("swapped", day, "t_min", low, f"t_min at most t_max, which is {high:g}")


def _spikes(series: DailySeries, column: str, values: FloatArray) -> Iterator[Fault]:
    step = np.diff(values, prepend=np.nan, append=np.nan)
    up = (step[:-1] >= SPIKE_C) & (step[1:] <= -SPIKE_C)
    down = (step[:-1] <= -SPIKE_C) & (step[1:] >= SPIKE_C)
    for at, day in _days(series, up | down):
        near = f"within {SPIKE_C:g} °C of a neighbouring day ({values[at - 1]:g} or {values[at + 1]:g})"
        yield Fault("spike", day, column, float(values[at]), near)


def _stuck(series: DailySeries, column: str, values: FloatArray) -> Iterator[Fault]:
    first, length = runs(np.diff(values) == 0)
    for begin, n in zip(first, length + 1, strict=True):
        if n >= STUCK_D:
            day = series.start + timedelta(days=int(begin))
            yield Fault("stuck", day, column, float(values[begin]), "values that vary", int(n))


def _apart(series: DailySeries, column: str, values: FloatArray, other: DailySeries) -> Iterator[Fault]:
    day = timedelta(days=1)
    there = other.window(series.start - day, series.end + day)
    theirs = there.t_min_c if column == "t_min" else there.t_max_c
    differences = values - theirs[1:-1]
    if np.count_nonzero(~np.isnan(differences)) < OTHER_SOURCE_D:
        return
    near = np.lib.stride_tricks.sliding_window_view(theirs, 3) + np.nanmedian(differences)
    low, high = np.fmin.reduce(near, axis=1), np.fmax.reduce(near, axis=1)
    for at, when in _days(series, (values < low - OTHER_SOURCE_C) | (values > high + OTHER_SOURCE_C)):
        right = f"a value between {low[at] - OTHER_SOURCE_C:.0f} and {high[at] + OTHER_SOURCE_C:.0f} °C"
        yield Fault("other source", when, column, float(values[at]), right)


def _gaps(series: DailySeries) -> Iterator[Fault]:
    first, length = runs(~series.measured)
    for begin, n in zip(first, length, strict=True):
        day = series.start + timedelta(days=int(begin))
        yield Fault("gap", day, "both", float("nan"), "a t_min and a t_max for every day", int(n))


def in_kelvin(t_c: FloatArray, declared: Unit) -> float | None:
    """Return the mean of temperatures [degC] that were Kelvin as they stood in the file, None where they were not.

    >>> in_kelvin(np.array([283.0, 293.0]), "C"), in_kelvin(np.array([13.0, 23.0]), "C")
    (288.0, None)
    """
    if declared == "tenths" or not len(t_c):
        return None
    usual = float(np.median(t_c if declared == "C" else t_c * 1.8 + 32))
    above = COLDEST_C + KELVIN <= usual <= HOTTEST_C + KELVIN
    return float(t_c.mean()) if above and float(np.median(t_c)) > HOTTEST_C else None


def _wrong_unit(series: DailySeries, declared: Unit, near: Normals | None) -> Iterator[Fault]:
    """Yield at most one fault: Kelvin, Fahrenheit read as Celsius, or the reverse."""
    mean = series.t_mean_c[series.measured]
    found = in_kelvin(mean, declared)
    if found is not None:
        yield Fault("wrong unit", series.start, "both", found, KELVIN_RIGHT, len(series))
        return
    if len(mean) >= 30:
        warmest = float(np.convolve(mean, np.full(30, 1 / 30), mode="valid").max())
        if declared != "F" and warmest > HOTTEST_MONTH_C:
            right = f"the unit F (the warmest month measured anywhere has {HOTTEST_MONTH_C:g} °C)"
            yield Fault("wrong unit", series.start, "both", warmest, right, len(series))
            return
        if declared == "F" and len(mean) >= 300 and warmest < COLDEST_SUMMER_C:
            right = "the unit C (with a warmest month below freezing nothing grows)"
            yield Fault("wrong unit", series.start, "both", warmest, right, len(series))
            return
    if near is not None and len(mean):
        yield from _far_from_normals(series, declared, near)


def _far_from_normals(series: DailySeries, declared: Unit, near: Normals) -> Iterator[Fault]:
    ok = series.measured
    usual = daily_year(near).t_mean_c[years_and_slots(series.start, len(series))[1]][ok].mean()
    mean = float(series.t_mean_c[ok].mean())
    other = (mean - 32) / 1.8 if declared != "F" else mean * 1.8 + 32
    if abs(other - usual) <= FAR_FROM_NORMAL_C < abs(mean - usual):
        unit = "F" if declared != "F" else "C"
        right = f"the unit {unit} (near {near.place} these days usually have {usual:.0f} °C)"
        yield Fault("wrong unit", series.start, "both", mean, right, len(series))
