"""Water vapour in air: pressures, dew point, wet bulb."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Numbers = float | Floats

_LEAST_VAPOUR_KPA = 1e-4  # dew point -73 degC; a sensor's 0 % has no logarithm
_PSYCHROMETER_PER_C = 0.000662  # ventilated (Assmann), FAO-56 eq. 16
_WET_BULB_STEPS = 5  # Newton; from air of 50 degC and 1 % the fifth moves by less than 1e-6 degC


def saturation_kpa(t_c: Numbers) -> Floats:
    """Return the vapour pressure [kPa] over water at saturation, shape of ``t_c`` [degC].

    Below 0 degC too it is that over (supercooled) water; over ice it is lower.

    Source: FAO-56 eq. 11 (Tetens).

    Examples
    --------
    >>> saturation_kpa(np.array([1.0, 25.0])).round(4)
    array([0.6567, 3.1678])
    """
    return np.asarray(0.6108 * np.exp(17.27 * t_c / (t_c + 237.3)))


def saturation_slope(t_c: Numbers, saturation: Numbers) -> Floats:
    """Return how fast saturation rises [kPa/degC] where it is ``saturation`` [kPa], the value at ``t_c`` [degC].

    Source: derivative of `saturation_kpa`; FAO-56 eq. 13.
    """
    return np.asarray(saturation * 17.27 * 237.3 / (t_c + 237.3) ** 2)


def vapour_kpa(t_c: Numbers, humidity_percent: Numbers) -> Floats:
    """Return the vapour pressure [kPa] of air, the shapes broadcast; of a dew point it is `saturation_kpa`.

    Source: definition of relative humidity.
    """
    return np.asarray(saturation_kpa(t_c) * humidity_percent / 100.0)


def vapour_of_night_kpa(t_c: Numbers, t_min_c: Numbers, below_minimum_c: Numbers = 0.0) -> Floats:
    """Return the vapour pressure [kPa] at hours of ``t_c`` where only the night's minimum is known.

    The dew point is taken as the minimum less ``below_minimum_c``, 2 to 3 degC in dry places.

    Source: FAO-56 eq. 48 and annex 6.
    """
    return saturation_kpa(np.minimum(t_min_c - below_minimum_c, t_c))


def humidity_percent(t_c: Numbers, vapour: Numbers) -> Floats:
    """Return relative humidity over water [%] of air with ``vapour`` [kPa], the shapes broadcast.

    Source: definition.
    """
    return np.asarray(100.0 * vapour / saturation_kpa(t_c))


def deficit_kpa(t_c: Numbers, vapour: Numbers) -> Floats:
    """Return the vapour pressure deficit [kPa], not below 0; the shapes broadcast.

    Source: definition.
    """
    return np.maximum(saturation_kpa(t_c) - vapour, 0.0)


def dew_point_c(vapour: Numbers) -> Floats:
    """Return the dew point over water [degC], shape of ``vapour`` [kPa]; the frost point is higher below 0 degC.

    Source: inverse of `saturation_kpa`.

    Examples
    --------
    >>> dew_point_c(vapour_kpa(np.array([20.0, 2.0]), np.array([50.0, 60.0]))).round(2)
    array([ 9.27, -4.93])
    """
    log = np.log(np.maximum(vapour, _LEAST_VAPOUR_KPA) / 0.6108)
    return np.asarray(237.3 * log / (17.27 - log))


def pressure_kpa(height_m: Numbers) -> Floats:
    """Return the usual air pressure [kPa], shape of ``height_m`` [m above the sea].

    Source: FAO-56 eq. 7.

    Examples
    --------
    >>> round(float(pressure_kpa(1800.0)), 1)
    81.8
    """
    return np.asarray(101.3 * ((293.0 - 0.0065 * height_m) / 293.0) ** 5.26)


def wet_bulb_c(t_c: Numbers, vapour: Numbers, pressure: Numbers = 101.3) -> Floats:
    """Return the temperature [degC] to which evaporating water cools, such as that on a wet leaf at night.

    Parameters
    ----------
    t_c : [degC]
    vapour, pressure : [kPa]
        The shapes broadcast.

    Source
    ------
    Psychrometer equation, FAO-56 eq. 15, solved by Newton's method. Closed forms that are fitted to it err by
    half a degree near freezing, where it matters.

    Examples
    --------
    >>> round(float(wet_bulb_c(2.0, vapour_kpa(2.0, 60.0))), 2)
    -0.48
    """
    gamma = _PSYCHROMETER_PER_C * pressure
    wet = np.asarray(t_c, dtype=np.float64)
    for _ in range(_WET_BULB_STEPS):
        saturation = saturation_kpa(wet)
        too_much = saturation - gamma * (t_c - wet) - vapour
        wet = wet - too_much / (saturation_slope(wet, saturation) + gamma)
    return wet
