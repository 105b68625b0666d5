"""The root ball of a pot: how warm it gets, how slowly it freezes, and what heat kills its roots."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Numbers = float | Floats

# Estimate: through the middle of growers' figures, 1 to 3 h below a litre, 4 to 8 h at 3 L, 12 to 24 h at 10 L.
_LAG_OF_3_L_H = 6.0
_LAG_POWER = 0.87

_HEAT_OF_FUSION_MJ_L = 0.334
_HEAT_OF_WATER_MJ_L = 0.00419
_SOLIDS = 0.33  # estimate: litres of grains in a litre of substrate; the rest is pores
# From memory, Campbell & Norman 1998 table 8.2: 2.0 mineral grains, 2.5 organic ones.
_HEAT_OF_SOLIDS_MJ_L = 0.002

# Ilex crenata 'Helleri': critical 51.0 degC for 30 min, 43.9 degC for 300 min.
_CRITICAL_30_MIN_C = 51.0
_CRITICAL_PER_TENFOLD_C = 7.1
# Injury by hours begins at 40 degC (Handreck & Black 1984, as quoted); the line was seen above 43 only, and carried on
# downwards it would kill by any warm fortnight.
_HARM_FROM_C = 40.0


def lag_h(litres: Numbers) -> Floats:
    """Return the time constant of a pot's root ball [h], shape of ``litres``.

    After so long it has made 63 % of a sudden change of its surroundings.

    Source: estimate, see the constants of this module.

    Examples
    --------
    >>> lag_h(np.array([0.5, 3.0, 10.0])).round(1)
    array([ 1.3,  6. , 17.1])
    """
    return np.asarray(_LAG_OF_3_L_H * (litres / 3.0) ** _LAG_POWER)


def wall_c(t_air_c: Numbers, sunlight_w_m2: Numbers, sun_gain_c: Numbers) -> Floats:
    """Return the temperature of a pot's wall [degC], the shapes broadcast.

    ``sun_gain_c`` is how much 1000 W/m2 warm it: about 12 for white and glazed light pots, 18 for brown and
    unglazed ones, 25 for black plastic.

    Source: estimate, to be calibrated by whoever measures.
    """
    return np.asarray(t_air_c + sun_gain_c * sunlight_w_m2 / 1000.0)


def freezing_degrees(water_share: Numbers) -> Floats:
    """Return by how many degrees the heat of freezing could cool a wet substrate [degC].

    ``water_share`` is litres of water in a litre of substrate, 0 to 0.6.

    Source: heats of fusion and of the parts; see the constants of this module.
    """
    warmed = water_share * _HEAT_OF_WATER_MJ_L + _SOLIDS * _HEAT_OF_SOLIDS_MJ_L
    return np.asarray(water_share * _HEAT_OF_FUSION_MJ_L / warmed)


def root_ball_c(wall: Floats, lag: Numbers, start_c: Numbers, freezing: Numbers = 0.0) -> Floats:
    """Return the temperature in the middle of a root ball at the end of each hour [degC].

    It runs after the wall, a first-order lag, and rests at 0 degC while its water freezes or thaws.

    Parameters
    ----------
    wall : (..., n_hours) [degC]
        As `wall_c`, mean of each hour.
    lag : (...) [h]
        As `lag_h`.
    start_c : (...) [degC]
        At the start of the first hour; at or below 0 degC it starts frozen.
    freezing : (...) [degC]
        As `freezing_degrees`; 0 for dry substrate.

    Returns
    -------
    (..., n_hours) [degC]

    Source
    ------
    Newton's law of cooling; freezing as heat content (enthalpy method).
    """
    share = -np.expm1(-1.0 / np.asarray(lag, dtype=np.float64))
    held = np.asarray(freezing, dtype=np.float64)
    start = np.asarray(start_c, dtype=np.float64)
    shape = np.broadcast_shapes(wall.shape[:-1], share.shape, held.shape, start.shape)
    heat = np.broadcast_to(np.where(start > 0, start, start - held), shape)
    now_c = _temperature(heat, held)
    ball = np.empty((wall.shape[-1], *shape))
    walls = np.ascontiguousarray(np.moveaxis(wall, -1, 0))  # an hour's values side by side are read faster
    for hour, wall_now in enumerate(walls):  # freezing is not linear: no closed form over the hours
        heat = heat + share * (wall_now - now_c)
        now_c = ball[hour] = _temperature(heat, held)
    return np.moveaxis(ball, 0, -1)


def _temperature(heat: Floats, held: Floats) -> Floats:
    return np.maximum(heat, 0.0) + np.minimum(heat + held, 0.0)


def root_heat_dose(
    t_c: Floats,
    critical_c: Numbers = _CRITICAL_30_MIN_C,
    per_tenfold_c: Numbers = _CRITICAL_PER_TENFOLD_C,
) -> Floats:
    """Return what part of a killing exposure hours of heat make up; 1 and more is where roots die.

    Parameters
    ----------
    t_c : (..., n_hours) [degC]
        Of the roots; hours below 40 degC do not count.
    critical_c : (...) [degC]
        Their critical temperature for 30 minutes.
    per_tenfold_c : (...) [degC]
        How much lower it is for ten times as long.

    Source
    ------
    Ingram and others (Ilex crenata 'Helleri', abstract): T(t) = 51.0 - 7.1 log10(t / 30 min). Adding up parts of
    exposures is an estimate (Miner's rule).

    Examples
    --------
    >>> round(float(root_heat_dose(np.full(5, 43.9))), 2)
    1.0
    """
    critical, step = (np.asarray(of, dtype=np.float64)[..., None] for of in (critical_c, per_tenfold_c))
    dose = 2.0 * 10.0 ** ((t_c - critical) / step)  # an hour is twice 30 minutes
    return np.asarray(np.where(t_c >= _HARM_FROM_C, dose, 0.0).sum(axis=-1))
