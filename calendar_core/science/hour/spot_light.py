"""What of the sunlight reaches a spot: hours of sun, horizon, open sky and shade cloth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from calendar_core.science.hour.sunlight import Light

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Numbers = float | Floats


def sunny_by_clock(hour_ends_h: Numbers, sun_from_h: Numbers, sun_to_h: Numbers) -> Floats:
    """Return the share, 0 to 1, of each clock hour that lies between two times of the same day.

    ``hour_ends_h`` is the local time at which each hour ends, above 0 and up to 24; the shapes broadcast.

    Source: an overlap; nothing is assumed.

    Examples
    --------
    >>> sunny_by_clock(np.array([10.0, 11.0, 12.0]), 10.25, 12.0)
    array([0.  , 0.75, 1.  ])
    """
    overlap = np.minimum(hour_ends_h, sun_to_h) - np.maximum(hour_ends_h - 1.0, sun_from_h)
    return np.asarray(np.maximum(overlap, 0.0))


def sunny_by_horizon(
    elevation_deg: Numbers, azimuth_deg: Numbers, profile_azimuth_deg: Floats, profile_height_deg: Floats
) -> NDArray[np.bool_]:
    """Tell where the sun stands above what is built and grown around a spot.

    Parameters
    ----------
    elevation_deg, azimuth_deg : [deg]
        Of the sun, the shapes broadcast.
    profile_azimuth_deg, profile_height_deg : (n_points,) [deg]
        The horizon seen from the spot: rising azimuths clockwise from north, 0 to 360, and heights there;
        straight between the points and on from the last to the first.

    Source
    ------
    Geometry; nothing is assumed.

    Examples
    --------
    >>> house_in_the_west = np.array([180.0, 200.0, 340.0]), np.array([0.0, 40.0, 0.0])
    >>> sunny_by_horizon(np.array([50.0, 20.0, 20.0]), np.array([200.0, 200.0, 100.0]), *house_in_the_west)
    array([ True, False,  True])
    """
    horizon = np.interp(azimuth_deg, profile_azimuth_deg, profile_height_deg, period=360.0)
    return np.asarray(elevation_deg > np.maximum(horizon, 0.0))


def sky_view(profile_azimuth_deg: Floats, profile_height_deg: Floats) -> float:
    """Return the share, 0 to 1, of an even sky's light that a horizon leaves to level ground.

    The profile is that of `sunny_by_horizon`.

    Source: a plane under an evenly bright sky gets cos^2 of the horizon's height, averaged around.

    Examples
    --------
    >>> round(sky_view(np.array([0.0, 180.0]), np.array([30.0, 30.0])), 2)
    0.75
    """
    around = np.interp(np.arange(360.0), profile_azimuth_deg, profile_height_deg, period=360.0)
    return float(np.mean(np.cos(np.radians(np.maximum(around, 0.0))) ** 2))


def at_spot(light: Light, sunny: Numbers, sky: Numbers = 1.0, cloth_percent: Numbers = 0.0) -> Light:
    """Return the sunlight that comes down on a spot, the shapes broadcast.

    Parameters
    ----------
    light : over the open place
    sunny : 0 to 1
        Share of the time the sun itself is not hidden.
    sky : 0 to 1
        As `sky_view`.
    cloth_percent : 0 to 100
        Shade of the cloth; it holds back direct and diffuse light alike.

    Source
    ------
    The label of a shade cloth, taken at its word (common practice).
    """
    through = 1.0 - cloth_percent / 100.0
    return Light(
        np.asarray(light.direct_w_m2 * sunny * through), np.asarray(light.diffuse_w_m2 * sky * through)
    )
