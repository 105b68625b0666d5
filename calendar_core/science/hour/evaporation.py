"""How much water a short grass gives to the air: reference evapotranspiration after FAO-56."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from calendar_core.science.hour.humidity import deficit_kpa, saturation_kpa, saturation_slope

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Numbers = float | Floats

_MM_PER_MJ = 0.408  # 1 / 2.45 MJ a kilogram of water
_PSYCHROMETRIC_PER_C = 0.665e-3  # of the air's pressure, FAO-56 eq. 8
_DAY, _HOUR = 900.0, 37.0  # FAO-56 eqs. 6 and 53, [K mm s m-1 per step kPa-1]


def daily_mm(
    t_min_c: Numbers,
    t_max_c: Numbers,
    vapour_kpa: Numbers,
    wind_2m_ms: Numbers,
    net_mj: Numbers,
    pressure_kpa: Numbers = 101.3,
    ground_mj: Numbers = 0.0,
) -> Floats:
    """Return reference evapotranspiration of days [mm/d], not below 0; the shapes broadcast.

    Parameters
    ----------
    t_min_c, t_max_c, vapour_kpa, pressure_kpa : [degC], [kPa]
    wind_2m_ms : [m/s]
        Mean wind at 2 m.
    net_mj, ground_mj : [MJ m-2 d-1]
        As `net_radiation.net_day`; into the ground, next to nothing over a day.

    Source
    ------
    FAO-56 eqs. 6, 12 and 13 (Penman-Monteith).
    """
    mean = (t_min_c + t_max_c) / 2.0
    saturation = (saturation_kpa(t_min_c) + saturation_kpa(t_max_c)) / 2.0
    deficit = np.maximum(saturation - vapour_kpa, 0.0)
    return _penman_monteith(mean, deficit, wind_2m_ms, net_mj - ground_mj, pressure_kpa, _DAY)


def hourly_mm(
    t_c: Numbers,
    vapour_kpa: Numbers,
    wind_2m_ms: Numbers,
    net_mj: Numbers,
    pressure_kpa: Numbers = 101.3,
    ground_mj: Numbers = 0.0,
) -> Floats:
    """Return reference evapotranspiration of hours [mm/h], not below 0 (dew); the shapes broadcast.

    Parameters are those of `daily_mm`, by the hour. The surface is as open by night as by day: ASCE-EWRI 2005, which
    differs in this, gives up to 6 % more in hot sun.

    Source
    ------
    FAO-56 eq. 53.
    """
    deficit = deficit_kpa(t_c, vapour_kpa)
    return _penman_monteith(t_c, deficit, wind_2m_ms, net_mj - ground_mj, pressure_kpa, _HOUR)


def _penman_monteith(
    t_c: Numbers,
    deficit: Floats,
    wind_2m_ms: Numbers,
    kept_mj: Numbers,
    pressure_kpa: Numbers,
    factor: float,
) -> Floats:
    slope = saturation_slope(t_c, saturation_kpa(t_c))
    gamma = _PSYCHROMETRIC_PER_C * pressure_kpa
    drying = gamma * factor / (t_c + 273.0) * wind_2m_ms * deficit
    water = (_MM_PER_MJ * slope * kept_mj + drying) / (slope + gamma * (1.0 + 0.34 * wind_2m_ms))
    return np.maximum(water, 0.0)
