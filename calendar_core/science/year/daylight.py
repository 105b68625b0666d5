"""Day length, sunrise and sunset."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from astral import Observer
from astral.sun import elevation, noon

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from numpy.typing import ArrayLike, NDArray

# Upper limb on the horizon: 34' of refraction and 16' of the sun's radius below it.
# Source: U.S. Naval Observatory, Almanac for Computers 1990, official zenith 90 deg 50'.
HORIZON_DEG = -0.8333

_HALF_DAY_S = 12 * 3600


@dataclass(frozen=True, slots=True)
class SunTimes:
    """The daylight around one local noon.

    ``rise`` and ``set`` are aware UTC instants, or None where the sun does not cross the horizon within
    twelve hours of that noon; ``length_h`` is the time the sun is up in those 24 hours [h].
    """

    rise: datetime | None
    set: datetime | None
    length_h: float


def day_length_h(latitude: float, day_of_year: ArrayLike) -> NDArray[np.float64]:
    """Return the time from sunrise to sunset; this one drives the stage model.

    Parameters
    ----------
    latitude : float
        Degrees, north positive.
    day_of_year : array_like of any shape
        1 is 1 January. Values below 1 or above 366 run on into the years beside.

    Returns
    -------
    NDArray
        Hours, same shape; 24 in polar day and 0 in polar night.

    Source: declination Spencer 1971 (Search 2:172); sun at -0.8333 deg.
    """
    lat, horizon = np.radians(latitude), np.radians(HORIZON_DEG)
    decl = _declination_rad(np.asarray(day_of_year, dtype=np.float64))
    cos_hour_angle = (np.sin(horizon) - np.sin(lat) * np.sin(decl)) / (np.cos(lat) * np.cos(decl))
    return np.asarray(np.degrees(np.arccos(np.clip(cos_hour_angle, -1.0, 1.0))) * 2.0 / 15.0)


def _declination_rad(day_of_year: NDArray[np.float64]) -> NDArray[np.float64]:
    """Sun's declination (Spencer 1971)."""
    g = 2.0 * np.pi * (day_of_year - 1.0) / 365.0
    return np.asarray(
        0.006918
        - 0.399912 * np.cos(g)
        + 0.070257 * np.sin(g)
        - 0.006758 * np.cos(2 * g)
        + 0.000907 * np.sin(2 * g)
        - 0.002697 * np.cos(3 * g)
        + 0.00148 * np.sin(3 * g)
    )


def sun_times(latitude: float, longitude: float, day: date, zone: ZoneInfo) -> SunTimes:
    """Return sunrise and sunset of a local day, for a level horizon at sea level.

    The daylight is the one whose solar noon is nearest 12:00 on ``day`` in ``zone``: far from the zone's
    meridian and near the poles it may begin or end on a neighbouring date, in UTC or on the local clock.

    Parameters
    ----------
    latitude, longitude : float
        Degrees, north and east positive.
    day : date
        The garden's local date.
    zone : ZoneInfo
        The garden's time zone.

    Source: astral's solar elevation; horizon at 90 deg 50 min zenith distance, the official sunrise of the US
    Naval Observatory. Checked against skyfield within a minute below 55 degrees.
    """
    observer = Observer(latitude, longitude, 0.0)
    middle = solar_noon(longitude, day, zone)
    before, after = _seconds_of_sun(observer, middle, -1), _seconds_of_sun(observer, middle, +1)
    return SunTimes(
        rise=middle - timedelta(seconds=before) if 0 < before < _HALF_DAY_S else None,
        set=middle + timedelta(seconds=after) if 0 < after < _HALF_DAY_S else None,
        length_h=(before + after) / 3600.0,
    )


def solar_noon(longitude: float, day: date, zone: ZoneInfo) -> datetime:
    """Return the solar noon, aware UTC, that is nearest 12:00 of a local day.

    Source: astral's solar noon, the equation of time of the US National Oceanic and Atmospheric Administration.
    """
    observer = Observer(0.0, longitude, 0.0)  # noon is the same along a meridian
    clock_noon = datetime(day.year, day.month, day.day, 12, tzinfo=zone).astimezone(UTC)
    around = (clock_noon.date() + timedelta(days=shift) for shift in (-1, 0, 1))
    return min((noon(observer, utc_day) for utc_day in around), key=lambda at: abs(at - clock_noon))


def _seconds_of_sun(observer: Observer, middle: datetime, sign: int) -> int:
    """Seconds from solar noon until the sun is down, backward (-1) or forward (+1); at most twelve hours.

    Searched on the elevation, which falls from noon to midnight, because astral's own sunrise misses
    the day on which it passes midnight UTC (Dhaka, 23 March 2024) and raises on days without one.
    """
    return bisect_left(
        range(_HALF_DAY_S),
        True,  # noqa: FBT003 - the value looked for in a row of "is the sun down?"
        key=lambda s: (
            elevation(observer, middle + sign * timedelta(seconds=s), with_refraction=False) < HORIZON_DEG
        ),
    )
