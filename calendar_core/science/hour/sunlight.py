"""Sunlight over an open place: clear, under cloud, and split into direct and diffuse."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Numbers = float | Floats

_LEAST_SINE = 0.01  # ASCE-EWRI 2005 appendix D: beam transmission is undefined at the horizon
_LEAST_COS_ZENITH = 0.065  # as pvlib: below 3.7 degrees the ratio to the top of the air is noise
_NO_SUN_W_M2 = 1e-9  # less is a rounding error at the horizon
_UMOL_PER_J = 2.06  # 0.45 of sunlight is visible to plants (0.41 to 0.48) times 4.57 umol/J (McCree 1972)


@dataclass(frozen=True, slots=True)
class Light:
    """Sunlight on level ground [W/m2], from the sun itself and from the sky around it."""

    direct_w_m2: Floats
    diffuse_w_m2: Floats

    @property
    def total_w_m2(self) -> Floats:
        """Both together, what a pyranometer reads. Source: the definition of global radiation."""
        return self.direct_w_m2 + self.diffuse_w_m2


def clear_sky(
    elevation_deg: Numbers,
    top_w_m2: Numbers,
    vapour_kpa: Numbers,
    pressure_kpa: Numbers = 101.3,
    clearness: Numbers = 1.0,
) -> Light:
    """Return sunlight under a cloudless sky, the shapes broadcast.

    Parameters
    ----------
    elevation_deg, top_w_m2 : [deg], [W/m2]
        As `sun_path.sun_path` gives them.
    vapour_kpa, pressure_kpa : [kPa]
        Of the air at the ground.
    clearness : 1 in clean air, down to 0.5 in very turbid, dusty or polluted air

    Source
    ------
    ASCE-EWRI 2005, Standardized Reference Evapotranspiration Equation, eqs. D.1 to D.5; also FAO-56 annex 3.
    """
    sine = np.maximum(np.sin(np.radians(elevation_deg)), _LEAST_SINE)
    water_mm = 0.14 * vapour_kpa * pressure_kpa + 2.1
    beam = 0.98 * np.exp(-0.00146 * pressure_kpa / (clearness * sine) - 0.075 * (water_mm / sine) ** 0.4)
    sky = np.minimum(0.35 - 0.36 * beam, 0.18 + 0.82 * beam)
    return Light(np.asarray(beam * top_w_m2), np.asarray(sky * top_w_m2))


def under_cloud(clear_w_m2: Numbers, cloud_percent: Numbers) -> Floats:
    """Return total sunlight [W/m2] of a clear sky's ``clear_w_m2`` under so much cloud, the shapes broadcast.

    Source: Kasten & Czeplak 1980, Sol. Energy 24:177 (from memory).

    Examples
    --------
    >>> under_cloud(800.0, np.array([0.0, 50.0, 100.0])).round(1)
    array([800. , 743.2, 200. ])
    """
    return np.asarray(clear_w_m2 * (1.0 - 0.75 * (cloud_percent / 100.0) ** 3.4))


def split(total_w_m2: Numbers, elevation_deg: Numbers, top_w_m2: Numbers) -> Light:
    """Return how much of measured or forecast sunlight is direct and how much diffuse, the shapes broadcast.

    Parameters
    ----------
    total_w_m2 : [W/m2]
        On level ground, mean of an hour.
    elevation_deg, top_w_m2 : [deg], [W/m2]
        In the middle of that hour, as `sun_path.sun_path` gives them.

    Source
    ------
    Erbs, Klein & Duffie 1982, Sol. Energy 28:293.
    """
    sine = np.sin(np.radians(elevation_deg))
    top = np.asarray(top_w_m2 * np.maximum(1.0, _LEAST_COS_ZENITH / np.maximum(sine, _LEAST_SINE)))
    ratio = np.clip(total_w_m2 / np.where(top > _NO_SUN_W_M2, top, np.inf), 0.0, 1.0)
    middle = 0.9511 - 0.1604 * ratio + 4.388 * ratio**2 - 16.638 * ratio**3 + 12.336 * ratio**4
    share = np.where(ratio <= 0.22, 1.0 - 0.09 * ratio, np.where(ratio <= 0.80, middle, 0.165))
    return Light(np.asarray((1.0 - share) * total_w_m2), np.asarray(share * total_w_m2))


def photons_umol(total_w_m2: Numbers) -> Floats:
    """Return the light plants use [umol m-2 s-1] in sunlight [W/m2], within a tenth.

    Source: McCree 1972, Agric. Meteorol. 10:443 (from memory) for 4.57 umol/J; 0.45 of the energy is common
    practice.
    """
    return np.asarray(_UMOL_PER_J * total_w_m2)


def daily_light_mol(total_w_m2: Numbers) -> Floats:
    """Return the daily light integral [mol m-2 d-1] of whole days (..., n_days * 24) of hours -> (..., n_days).

    Source: sum of `photons_umol`.

    Examples
    --------
    >>> daily_light_mol(np.full(24, 100.0)).round(1)
    array([17.8])
    """
    hours = photons_umol(total_w_m2)
    return np.asarray(hours.reshape(*hours.shape[:-1], -1, 24).sum(axis=-1) * 3600.0 / 1e6)
