"""How hot or cold a leaf is: the balance of sun, heat lost to the air and water given off."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from calendar_core.science.hour.humidity import saturation_kpa, saturation_slope

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Numbers = float | Floats

STILL_AIR_MS = 0.3  # Jones, Plants and Microclimate: below it rising warm air stirs as much (from memory)
_STEFAN_BOLTZMANN = 5.67e-8  # [W m-2 K-4]
_EMISSIVITY = 0.97  # of a leaf, and of soil, walls and other leaves; 0.95 to 0.98
_AIR_HEAT = 29.3  # [J mol-1 K-1]
_LATENT_HEAT = 44000.0  # [J mol-1] at 25 degC
_KELVIN = 273.15
_OUTDOORS = 1.4  # gusts thin the layer of still air at a leaf, against a wind tunnel
_WIDTH_SHARE = 0.72  # a leaf is as wide as a plate of this share of its width
_STEPS = 4


def sky_emissivity(t_air_c: Numbers, vapour_kpa: Numbers, cloud_percent: Numbers = 0.0) -> Floats:
    """Return how strongly the sky sends heat, as a share of a black sky at air temperature.

    Parameters
    ----------
    t_air_c, vapour_kpa : [degC], [kPa]
        Of the air at the ground; the shapes broadcast.
    cloud_percent : 0 to 100

    Source
    ------
    Brutsaert 1975, Water Resour. Res. 11:742, for a clear sky; cloud after Monteith & Unsworth, and Campbell &
    Norman 1998 eq. 10.12.

    Examples
    --------
    >>> sky_emissivity(5.0, 0.61, np.array([0.0, 100.0])).round(2)
    array([0.72, 0.95])
    """
    clear = np.minimum(1.24 * (10.0 * vapour_kpa / (t_air_c + _KELVIN)) ** (1.0 / 7.0), 1.0)
    cloud = 0.84 * cloud_percent / 100.0
    return np.asarray(clear * (1.0 - cloud) + cloud)


def absorbed_w_m2(
    sunlight_w_m2: Numbers,
    t_air_c: Numbers,
    emissivity: Numbers,
    *,
    albedo: Numbers = 0.2,
    absorptance: Numbers = 0.5,
    sky: Numbers = 1.0,
) -> Floats:
    """Return the radiation a flat, level leaf takes in, mean of its two faces [W/m2]; the shapes broadcast.

    Parameters
    ----------
    sunlight_w_m2 : [W/m2]
        Direct and diffuse together, on the level.
    t_air_c, emissivity : [degC], 0 to 1
        Of the air, and of the sky as `sky_emissivity` gives it.
    albedo : 0 to 1
        Sunlight thrown back by what is below: grass 0.23 (FAO-56), pale paving about 0.5.
    absorptance : 0 to 1
        Sunlight kept by the leaf: a thin green one about 0.5, dark and thick ones more.
    sky : 0 to 1
        Share of the upper face's view that is open sky; the rest, and all below, is as warm as the air.

    Source
    ------
    Campbell & Norman 1998, Introduction to Environmental Biophysics, chapters 11 and 14.
    """
    above = sky * emissivity + (1.0 - sky) * _EMISSIVITY
    heat = _EMISSIVITY * _STEFAN_BOLTZMANN * (t_air_c + _KELVIN) ** 4 * (above + _EMISSIVITY)
    return np.asarray(absorptance * (1.0 + albedo) / 2.0 * sunlight_w_m2 + heat / 2.0)


def conductances(
    wind_ms: Numbers,
    width_m: Numbers,
    stomata_mol: Numbers,
    *,
    upper_share: Numbers = 0.0,
    least_wind_ms: float = STILL_AIR_MS,
) -> tuple[Floats, Floats]:
    """Return how readily heat and vapour leave a leaf, mean of its two faces [mol m-2 s-1]; the shapes broadcast.

    Parameters
    ----------
    wind_ms, width_m : [m/s], [m]
        Wind at the leaf, and the leaf's width.
    stomata_mol : [mol m-2 s-1]
        Of both faces together: some 0.1 to 0.3 open, 0.02 to 0.05 half shut, 0.005 with skin alone (from memory).
    upper_share : 0 to 1
        Share of it on the upper face: 0 in most broadleaved trees, 0.5 where both faces are alike.
    least_wind_ms : [m/s]
        Calmer air counts as this.

    Source
    ------
    Campbell & Norman 1998, table 7.6 and chapter 14.
    """
    moved = _OUTDOORS * np.sqrt(np.maximum(wind_ms, least_wind_ms) / (_WIDTH_SHARE * width_m))
    heat, vapour = 0.135 * moved, 0.147 * moved
    above = stomata_mol * upper_share
    below = stomata_mol - above
    return heat, (_in_series(above, vapour) + _in_series(below, vapour)) / 2.0


def _in_series(first: Numbers, second: Numbers) -> Floats:
    return np.asarray(first * second / (first + second))


def leaf_temperature_c(
    absorbed: Numbers,
    t_air_c: Numbers,
    vapour_kpa: Numbers,
    heat_mol: Numbers,
    vapour_mol: Numbers,
    *,
    pressure_kpa: Numbers = 101.3,
    steps: int = _STEPS,
) -> Floats:
    """Return the temperature [degC] at which a leaf loses what it takes in; the shapes broadcast.

    Parameters
    ----------
    absorbed : [W/m2]
        As `absorbed_w_m2`.
    t_air_c, vapour_kpa, pressure_kpa : [degC], [kPa], [kPa]
        Of the air.
    heat_mol, vapour_mol : [mol m-2 s-1]
        As `conductances`.
    steps : 1 or more
        Newton steps from the air's temperature. One is the linear form, too warm by tenths in a breeze and by degrees
        where the leaf is far from the air; four are within 0.001 degC of the balance in any weather with
        `STILL_AIR_MS`. The balance bends one way only, so steps cannot run off.

    Source
    ------
    Campbell & Norman 1998, eqs. 14.1 to 14.6; constants as there (from memory). Dew is counted only as
    far as stomata let vapour in, so a leaf on which dew falls is warmer than this.
    """
    dry, wet = _AIR_HEAT * heat_mol, _LATENT_HEAT * vapour_mol / pressure_kpa
    leaf = np.asarray(t_air_c, dtype=np.float64)
    for _ in range(steps):
        saturation, kelvin = saturation_kpa(leaf), leaf + _KELVIN
        sent = _EMISSIVITY * _STEFAN_BOLTZMANN * (kelvin**2) ** 2  # a tenth of the time of kelvin**4
        left_over = absorbed - sent - dry * (leaf - t_air_c) - wet * (saturation - vapour_kpa)
        stiffness = 4.0 * sent / kelvin + dry + wet * saturation_slope(leaf, saturation)
        leaf = leaf + left_over / stiffness
    return leaf
