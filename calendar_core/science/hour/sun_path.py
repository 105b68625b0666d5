"""Where the sun stands at many instants at once, and how strong it is above the air."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Numbers = float | Floats

SOLAR_CONSTANT_W_M2 = 1367.0  # World Meteorological Organization 1982; FAO-56 has it as 0.0820 MJ a minute
_EPOCH = np.datetime64("2000-01-01T12:00", "s")


@dataclass(frozen=True, slots=True)
class Sun:
    """The sun over a place.

    ``elevation_deg`` is the true one, without refraction (half a degree at the horizon, a tenth at 10 degrees);
    ``azimuth_deg`` runs clockwise from north; ``top_w_m2`` is what level ground would get above the air, 0 at night.
    """

    elevation_deg: Floats
    azimuth_deg: Floats
    top_w_m2: Floats


def sun_path(latitude: Numbers, longitude: Numbers, utc: NDArray[np.datetime64]) -> Sun:
    """Return the sun at instants, the shapes broadcast.

    For the mean of an hour give its middle.

    Parameters
    ----------
    latitude, longitude : degrees, north and east positive
    utc : datetime64
        Instants of UTC.

    Source
    ------
    The Astronomical Almanac, low-precision formulas for the sun, p. C5 (from memory; as in Michalsky 1988, Sol.
    Energy 40:227): 0.01 deg from 1950 to 2050.

    Examples
    --------
    >>> noon = np.array(["2024-06-21T12:00", "2024-12-21T12:00"], dtype="datetime64[s]")
    >>> sun_path(50.0, 0.0, noon).elevation_deg.round(1)
    array([63.4, 16.6])
    """
    days = (utc.astype("datetime64[s]") - _EPOCH) / np.timedelta64(1, "D")
    anomaly = np.radians(357.528 + 0.9856003 * days)
    longitude_of_sun = np.radians(
        280.460 + 0.9856474 * days + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2.0 * anomaly)
    )
    tilt = np.radians(23.439 - 4e-7 * days)
    ascension = np.arctan2(np.cos(tilt) * np.sin(longitude_of_sun), np.cos(longitude_of_sun))
    declination = np.arcsin(np.sin(tilt) * np.sin(longitude_of_sun))
    sidereal_deg = 280.46062 + 360.98564737 * days + longitude
    distance_au = 1.00014 - 0.01671 * np.cos(anomaly) - 0.00014 * np.cos(2.0 * anomaly)
    up, azimuth_deg = _seen(np.radians(latitude), declination, np.radians(sidereal_deg) - ascension)
    top = SOLAR_CONSTANT_W_M2 / distance_au**2 * np.maximum(up, 0.0)
    return Sun(np.degrees(np.arcsin(up)), azimuth_deg, top)


def _seen(latitude: Floats, declination: Floats, hour_angle: Floats) -> tuple[Floats, Floats]:
    """Return the sine of the elevation, and the azimuth [deg]; angles in radians."""
    up = np.sin(latitude) * np.sin(declination) + np.cos(latitude) * np.cos(declination) * np.cos(hour_angle)
    east = -np.cos(declination) * np.sin(hour_angle)
    north = np.sin(declination) * np.cos(latitude) - np.cos(declination) * np.sin(latitude) * np.cos(
        hour_angle
    )
    return np.clip(up, -1.0, 1.0), np.degrees(np.arctan2(east, north)) % 360.0
