"""Climate normals of bundled places: reading, the nearest one, and a daily year made from twelve months."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.weather.daily import SLOTS, FloatArray, years_and_slots
from calendar_core.weather.past_years import Climatology

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

EARTH_RADIUS_KM = 6371.0088
"""Mean radius of the Earth (GRS 80, IUGG)."""

PERSISTENCE = 0.68
"""Day-to-day correlation of the anomaly of the daily mean. Measured: 93 stations of Japan 0.65, 65 of Korea
0.70 (both 1991-2020), Seattle 0.75 (2012-2015), Clemson 0.68 (1991-2020), Chicago 0.71, Beijing 0.60 and
Auckland 0.61 (2016-2017); rounded mean."""

RANGE_PERSISTENCE = 0.33
"""The same of the daily range (highest less lowest): Japan 0.28, Korea 0.36, Clemson 0.37, Beijing 0.33."""

RANGE_SPREAD = 0.35
"""Standard deviation of the daily range as a share of its mean: Japan 0.36, Korea 0.34, Seattle 0.37,
Clemson 0.34."""

SUMMER_SD_C = 2.3
"""Standard deviation of the daily mean in the warmest season: Japan 2.2, Korea 2.2, Seattle 2.6, Clemson 2.2,
Chicago 2.7, Beijing 2.3, Auckland 1.9 degC. Too small where hot winds alternate (Melbourne)."""

WINTER_SD_C = (1.8, 0.08)
"""The same in the coldest season: 1.8 + 0.08 x (warmest less coldest month), least squares through Auckland
1.9, Seattle 3.1, Clemson 4.7, Japan 2.6, Korea 3.5, Chicago 6.0, Beijing 2.7 degC; residual 1.3 degC, so too
small in the middle of North America and too large in monsoon Asia."""

YEAR_SD_C = 0.5
"""Spread of a whole year that day-to-day persistence does not explain: Japan 0.38, Korea 0.41, Clemson 0.37
degC; four years of Seattle gave 0.8. Rounded up, so that ranges err on the wide side."""

_MONTH_DAYS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_MONTH = np.repeat(np.arange(12), _MONTH_DAYS)
_HARMONICS = 8
_COLUMNS = (
    "place latitude longitude elevation_m zone period credit "
    + " ".join(f"t_max_{m:02d}" for m in range(1, 13))
    + " "
    + " ".join(f"t_min_{m:02d}" for m in range(1, 13))
).split()


@dataclass(frozen=True, slots=True)
class Normals:
    """Monthly mean daily highest and lowest temperature of a place, January first [degC].

    ``zone`` is the IANA time zone; ``period`` says which years were averaged, ``credit`` whom to thank.
    """

    place: str
    latitude: float
    longitude: float
    zone: str
    period: str
    credit: str
    t_max_c: tuple[float, ...]
    t_min_c: tuple[float, ...]
    elevation_m: float | None = None


def read_normals(text: str) -> tuple[Normals, ...]:
    """Read the table of bundled normals; lines that begin with ``#`` are comments.

    Raises
    ------
    ValueError
        One line for each fault, naming the line of the table.
    """
    lines = [(n, line) for n, line in enumerate(text.splitlines(), 1) if line and not line.startswith("#")]
    rows = list(csv.reader(line for _, line in lines))
    if not rows or rows[0] != _COLUMNS:
        raise ValueError(f"the first line is not the header; right would be {','.join(_COLUMNS)}")
    found, faults = [], []
    for (number, _), row in zip(lines[1:], rows[1:], strict=True):
        try:
            found.append(_normals_of(row))
        except ValueError as fault:
            faults.append(f"line {number}: {fault}")
    if faults:
        raise ValueError("\n".join(faults))
    return tuple(found)


def _normals_of(row: list[str]) -> Normals:
    if len(row) != len(_COLUMNS):
        raise ValueError(f"{len(row)} fields; right would be {len(_COLUMNS)}")
    place, latitude, longitude, elevation, zone, period, credit = row[:7]
    highest, lowest = (tuple(float(v) for v in part) for part in (row[7:19], row[19:31]))
    if not (abs(float(latitude)) <= 90 and abs(float(longitude)) <= 180):
        raise ValueError(f"latitude {latitude}, longitude {longitude}; right would be -90..90 and -180..180")
    if any(low > high for low, high in zip(lowest, highest, strict=True)):
        raise ValueError(f"{place}: a monthly t_min is above its t_max; right would be the reverse")
    return Normals(
        place,
        float(latitude),
        float(longitude),
        zone,
        period,
        credit,
        highest,
        lowest,
        float(elevation) if elevation else None,
    )


def great_circle_km(
    latitude: float, longitude: float, other_latitude: float, other_longitude: float
) -> float:
    """Return the distance on a sphere between two places in degrees [km] (haversine formula).

    >>> round(great_circle_km(0, 0, 0, 180))
    20015
    """
    a, b = np.radians(latitude), np.radians(other_latitude)
    d_long = np.radians(other_longitude - longitude)
    h = np.sin((b - a) / 2) ** 2 + np.cos(a) * np.cos(b) * np.sin(d_long / 2) ** 2
    return float(2 * EARTH_RADIUS_KM * np.arcsin(np.sqrt(min(h, 1.0))))


def nearest(places: Sequence[Normals], latitude: float, longitude: float) -> tuple[Normals, float]:
    """Return the nearest of ``places`` and its distance [km].

    Raises
    ------
    ValueError
        When there are no places.
    """
    distances = [(great_circle_km(latitude, longitude, p.latitude, p.longitude), p) for p in places]
    if not distances:
        raise ValueError("no bundled places; right would be at least one line of normals")
    km, place = min(distances, key=lambda pair: pair[0])
    return place, km


@lru_cache(maxsize=1)
def _curve_matrix() -> FloatArray:
    """Return the (366, 12) matrix from monthly means to the smoothest yearly curve with these means.

    Among sums of harmonics whose monthly means are the given ones, it picks the one of least curvature
    (least sum of (h^2 x amplitude)^2, the mean left free): a constrained least-squares fit.
    """
    angle = 2 * np.pi * (np.arange(SLOTS) + 0.5) / SLOTS
    order = np.repeat(np.arange(1, _HARMONICS + 1), 2)
    waves = [f(h * angle) for h in range(1, _HARMONICS + 1) for f in (np.cos, np.sin)]
    basis = np.column_stack([np.ones(SLOTS), *waves])
    means = np.stack([basis[month == _MONTH].mean(axis=0) for month in range(12)])
    freedom = np.concatenate(([1e6], order.astype(float) ** -4))
    weighted = freedom[:, None] * means.T
    return np.asarray(basis @ weighted @ np.linalg.inv(means @ weighted))


def daily_year(normals: Normals) -> Climatology:
    """Return the mean year by calendar day; its monthly means are the normals (to 0.00001 degC)."""
    curve = _curve_matrix()
    return Climatology(curve @ np.array(normals.t_min_c), curve @ np.array(normals.t_max_c))


def anomaly_sd_c(year: Climatology) -> FloatArray:
    """Return the standard deviation of the daily mean by calendar day [degC], (366,).

    It runs between `SUMMER_SD_C` and `WINTER_SD_C` as the mean year runs between its warmest and coldest day.
    """
    mean = year.t_mean_c
    months = np.bincount(_MONTH, weights=mean) / np.array(_MONTH_DAYS)
    base, slope = WINTER_SD_C
    winter = base + slope * (months.max() - months.min())
    cold = (mean.max() - mean) / max(float(np.ptp(mean)), 1e-6)
    return np.asarray(SUMMER_SD_C + (winter - SUMMER_SD_C) * cold)


def daily_anomalies(
    count: int, start: date, n_days: int, seed: int, *, persistence: float = PERSISTENCE
) -> FloatArray:
    """Return standard first-order autoregressive series, one row each, (count, n_days).

    The noise of a date depends on ``seed``, the date and ``count`` only, so that a window that starts or ends
    elsewhere shows the same weather and plans do not shake from one day to the next.
    """
    memory = int(np.ceil(np.log(1e-6) / np.log(persistence)))
    days = np.datetime64(start, "D") + np.arange(-memory, n_days)
    year, slot = years_and_slots(days[0].item(), len(days))
    noise = np.stack(
        [
            np.random.default_rng([seed, y, round(1000 * persistence)]).standard_normal((SLOTS, count))
            for y in range(int(year[0]), int(year[-1]) + 1)
        ]
    )[year - year[0], slot].T
    weights = np.sqrt(1 - persistence**2) * persistence ** np.arange(memory, -1, -1)
    windows = np.lib.stride_tricks.sliding_window_view(noise, memory + 1, axis=1)
    return np.asarray(windows @ weights)
