"""Radiation for evaporation after FAO-56: above the air, at the ground, and what the ground keeps.

Energies are MJ a square metre, by the day or by the hour as the function says.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]
    Numbers = float | Floats

MJ_PER_W_HOUR = 0.0036  # one watt for an hour
GRASS_ALBEDO = 0.23
_SOLAR_MJ_MINUTE = 0.0820
_STEFAN_BOLTZMANN_DAY = 4.903e-9  # [MJ K-4 m-2 d-1]
_KELVIN = 273.16  # as FAO-56 prints it
_LEAST_CLEAR = 0.3  # ASCE-EWRI 2005 eq. 18: no sky is darker beside a clear one
_HIGH_SUN_DEG = 17.2  # ASCE-EWRI 2005 eq. 46, 0.3 rad: lower, the share of a clear sky says little


def top_of_air_day(latitude: Numbers, day_of_year: ArrayLike) -> Floats:
    """Return a day's sunlight above the air [MJ m-2 d-1], the shapes broadcast; latitude in degrees.

    Source: FAO-56 eqs. 21 to 25.

    Examples
    --------
    >>> round(float(top_of_air_day(-20.0, 246)), 1)
    32.2
    """
    phi, angle = np.radians(latitude), 2.0 * np.pi / 365.0 * np.asarray(day_of_year, dtype=np.float64)
    declination, sunset = 0.409 * np.sin(angle - 1.39), sunset_hour_angle(latitude, day_of_year)
    path = sunset * np.sin(phi) * np.sin(declination) + np.cos(phi) * np.cos(declination) * np.sin(sunset)
    return np.asarray(24.0 * 60.0 / np.pi * _SOLAR_MJ_MINUTE * (1.0 + 0.033 * np.cos(angle)) * path)


def sunset_hour_angle(latitude: Numbers, day_of_year: ArrayLike) -> Floats:
    """Return half the day as an angle [rad], 0 in polar night and pi in polar day; 24 / pi of it is hours of day.

    Source: FAO-56 eqs. 24, 25 and 34.
    """
    angle = 2.0 * np.pi / 365.0 * np.asarray(day_of_year, dtype=np.float64)
    declination = 0.409 * np.sin(angle - 1.39)
    return np.asarray(np.arccos(np.clip(-np.tan(np.radians(latitude)) * np.tan(declination), -1.0, 1.0)))


def clear_sky(top: Numbers, height_m: Numbers = 0.0) -> Floats:
    """Return sunlight under a clear sky at ``height_m`` above the sea, in the unit of ``top``.

    Source: FAO-56 eq. 37.
    """
    return np.asarray((0.75 + 2e-5 * height_m) * top)


def net_day(
    t_min_c: Numbers, t_max_c: Numbers, vapour_kpa: Numbers, sunlight: Numbers, clear: Numbers
) -> Floats:
    """Return what grass keeps of a day's radiation [MJ m-2 d-1]; the shapes broadcast.

    Parameters
    ----------
    t_min_c, t_max_c, vapour_kpa : [degC], [kPa]
    sunlight, clear : [MJ m-2 d-1]
        The day's own, and that of a clear day.

    Source
    ------
    FAO-56 eqs. 38 to 40.
    """
    black = _STEFAN_BOLTZMANN_DAY * (_fourth(t_min_c) + _fourth(t_max_c)) / 2.0
    return _net(sunlight, black, vapour_kpa, np.divide(sunlight, clear))


def net_hour(t_c: Numbers, vapour_kpa: Numbers, sunlight: Numbers, clear_share: Numbers) -> Floats:
    """Return what grass keeps of an hour's radiation [MJ m-2 h-1]; the shapes broadcast.

    Parameters
    ----------
    t_c, vapour_kpa : [degC], [kPa]
    sunlight : [MJ m-2 h-1]
    clear_share : 0 to 1
        Of the open place, as `clear_share_hour`.

    Source
    ------
    FAO-56 eqs. 38 to 40 with the hour's share of the day's constant.
    """
    return _net(sunlight, _STEFAN_BOLTZMANN_DAY / 24.0 * _fourth(t_c), vapour_kpa, clear_share)


def clear_share_hour(sunlight: Floats, clear: Floats, elevation_deg: Floats) -> Floats:
    """Return how clear the sky is, 0 to 1: sunlight over that of a clear sky, and at night the evening's.

    Parameters
    ----------
    sunlight, clear : (..., n_hours), any one unit
    elevation_deg : (..., n_hours) [deg]
        Of the sun. Hours with a low sun take the value of the last with a high one, and those before the first its
        value; where there is none at all, the sky counts as clear, which is the colder guess.

    Source
    ------
    FAO-56 chapter 3 on hours (the ratio of two to three hours before sunset); ASCE-EWRI 2005 for the angle.

    Examples
    --------
    >>> sun = np.array([-5.0, 20.0, 40.0, 5.0, -5.0])
    >>> clear_share_hour(np.array([0.0, 1.0, 1.6, 0.1, 0.0]), np.array([0.0, 1.0, 2.0, 0.4, 0.0]), sun)
    array([1. , 1. , 0.8, 0.8, 0.8])
    """
    high = (elevation_deg > _HIGH_SUN_DEG) & (clear > 0)
    share = np.where(high, sunlight / np.where(high, clear, 1.0), 1.0)
    hours = np.where(high, np.arange(high.shape[-1]), high.argmax(axis=-1)[..., None])
    last = np.broadcast_to(np.maximum.accumulate(hours, axis=-1), share.shape)
    return np.take_along_axis(share, last, axis=-1)


def ground_heat_hour(net: Numbers, *, day: Numbers) -> Floats:
    """Return the heat that goes into the ground in an hour [MJ m-2 h-1], a tenth of ``net`` by day, half by night.

    Source: FAO-56 eqs. 45 and 46.
    """
    return np.asarray(np.where(day, 0.1, 0.5) * net)


def _net(sunlight: Numbers, black: Floats, vapour_kpa: Numbers, clear_share: Numbers) -> Floats:
    cloud = 1.35 * np.clip(clear_share, _LEAST_CLEAR, 1.0) - 0.35
    lost = black * (0.34 - 0.14 * np.sqrt(vapour_kpa)) * cloud
    return np.asarray((1.0 - GRASS_ALBEDO) * sunlight - lost)


def _fourth(t_c: Numbers) -> Floats:
    return np.asarray((t_c + _KELVIN) ** 4)
