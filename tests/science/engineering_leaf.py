"""A leaf's energy balance in its engineering form, an independent second opinion: fluxes of both faces, in SI units.

Equations as the R package tealeaves 1.0.6 documents them; the code is our own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

GRAVITY, GAS, SIGMA = 9.8, 8.3144598, 5.67e-8
HEAT, MOMENTUM, WATER = 19.0e-6, 13.3e-6, 21.2e-6  # diffusion at 0 degC [m2/s]


@dataclass(frozen=True)
class Surroundings:
    """tealeaves' parameters under its names, with its defaults (absorptance that of its README)."""

    abs_s: float = 0.5
    abs_l: float = 0.97
    g_sw: float = 5.0
    g_uw: float = 0.1
    leafsize: float = 0.1
    upper_share: float = 0.5
    pressure: float = 101.3246
    r: float = 0.2
    rh: float = 0.5
    s_sw: float = 1000.0
    t_air: float = 298.15
    wind: float = 2.0


@dataclass(frozen=True)
class Fluxes:
    """What one leaf temperature implies."""

    absorbed: float
    sent: float
    sensible: float
    latent: float
    transpired: float
    reynolds: float
    grashof: float


def t_leaf(around: Surroundings) -> float:
    """Return the leaf temperature [K]."""

    def left_over(t: float) -> float:
        flux = fluxes(t, around)
        return flux.absorbed - flux.sent - flux.sensible - flux.latent

    return float(brentq(left_over, around.t_air - 30.0, around.t_air + 40.0, xtol=1e-9))


def fluxes(t: float, a: Surroundings) -> Fluxes:
    """Return the balance at a leaf temperature [K]."""
    middle = (t + a.t_air) / 2.0
    heat, momentum, water = (
        d * (middle / 273.15) ** 1.75 * 101.3246 / a.pressure for d in (HEAT, MOMENTUM, WATER)
    )
    reynolds = a.wind * a.leafsize / momentum
    rise = abs(virtual(t, 1.0, a) - virtual(a.t_air, a.rh, a))
    grashof = GRAVITY * a.leafsize**3 * rise / a.t_air / momentum**2
    sensible = transpired = 0.0
    for upper in (True, False):
        forced = 0.6 * reynolds**0.5 if reynolds <= 4000 else 0.032 * reynolds**0.8
        free = (0.5 if upper == (t > a.t_air) else 0.23) * grashof**0.25
        ratio = heat / water
        nusselt, sherwood = mixed(forced, free), mixed(forced * ratio**0.33, free * ratio**0.25)
        density = a.pressure / (287.058 * middle) * 1e6
        sensible += density * 1.01 * heat * nusselt / a.leafsize * (t - a.t_air)
        share = a.upper_share if upper else 1.0 - a.upper_share
        inner = (a.g_sw * share + a.g_uw / 2.0) * GAS * middle / 1e6
        outer = water * sherwood / a.leafsize
        step = saturation(t) / t - a.rh * saturation(a.t_air) / a.t_air
        transpired += inner * outer / (inner + outer) * step / GAS * 1000.0
    t_sky = a.t_air - 20.0 * a.s_sw / 1000.0
    return Fluxes(
        absorbed=a.abs_s * (1 + a.r) * a.s_sw + a.abs_l * SIGMA * (t_sky**4 + a.t_air**4),
        sent=2.0 * SIGMA * a.abs_l * t**4,
        sensible=sensible,
        latent=(56847.6825 - 43.12514 * t) * transpired,
        transpired=transpired,
        reynolds=reynolds,
        grashof=grashof,
    )


def mixed(forced: float, free: float) -> float:
    return float((forced**3.5 + free**3.5) ** (1.0 / 3.5))


def virtual(t: float, rh: float, a: Surroundings) -> float:
    return t / (1.0 - 0.378 * rh * saturation(t) / a.pressure)


def saturation(t: float) -> float:
    """Return the vapour pressure over water [kPa] after Goff and Gratch, at sea level."""
    boil = 373.16 / t
    power = (
        -7.90298 * (boil - 1.0)
        + 5.02808 * np.log10(boil)
        - 1.3816e-7 * 10.0 ** (11.344 * (1.0 - 1.0 / boil) - 1.0)
        + 8.1328e-3 * (10.0 ** (-3.49149 * (boil - 1.0)) - 1.0)
        + np.log10(1013.246)
    )
    return float(10.0**power) / 10.0
