"""Heat and cold of the root ball in its pot."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from alerts.hazards.course import Course, column, lines_of, reasons_of
from alerts.hazards.place import running
from calendar_core.science.hour.container import (
    HARM_FROM_C,
    Ball,
    around_c,
    heat_at,
    night_chill_c,
    radius_m,
    root_ball,
    root_heat_dose,
    wet_soil,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from alerts.hazards.place import Weather
    from alerts.hazards.stand import Pot, Stand
    from calendar_core.science.hour.container import Soil

    Floats = NDArray[np.float64]

_DAY_H = 24


def balls(stands: Sequence[Stand], at: Weather) -> Ball:
    """Return the wall and the middle of root balls [degC], (n_stands, n_members, n_hours).

    They are run through the hours before the first as far as these are known, in which the sky counts as clouded and
    the sun as hidden, and begin at the mean of a day.

    Source: `science.hour.container`; what the ground gives at night is an estimate, config/exposure.toml.
    """
    pots = list(dict.fromkeys(stand.pot for stand in stands))
    litres, depth, held = (np.array(of) for of in zip(*map(_form, pots), strict=True))
    radius, soil = radius_m(litres, depth), wet_soil(held)
    height = 2.0 * radius * depth
    around, before = _around(pots, at), _before(at)
    if before.shape[-1] < _DAY_H:
        before = np.broadcast_to(before, (*around.shape[:2], before.shape[-1]))
    heat = _begin(before, around, soil)
    if before.shape[-1]:
        heat = root_ball(before, radius, height, soil, heat).heat
    found = root_ball(around, radius, height, soil, heat)
    which = [pots.index(stand.pot) for stand in stands]
    return Ball(*(of[which] for of in found))


def _form(pot: Pot) -> tuple[float, float, float]:
    return pot.litres, pot.depth_share, pot.held_share


def _around(pots: Sequence[Pot], at: Weather) -> Floats:
    """Return the air that would act on pots as air, sun, ground and sky do, (n_pots, n_members, n_hours)."""
    rules = at.rules
    chill = rules.pot.sky_part.value * night_chill_c(at.to_sky_w_m2, at.wind_ms)
    night = rules.surface_of(at.spot.surface).roots_night_c - chill
    gain = column(pot.sun_gain_c for pot in pots)
    return around_c(at.t_c, at.light_w_m2, gain) + np.where(at.day, 0.0, night)


def _before(at: Weather) -> Floats:
    """Return the same for the hours before the first, (1, n_members or 1, n_before)."""
    ground = at.rules.surface_of(at.spot.surface).roots_night_c
    return (at.before_c + np.where(at.day_before, 0.0, ground))[None]


def _begin(before: Floats, around: Floats, soil: Soil) -> Floats:
    """Return the heat at the mean of the first 24 hours that are known, (n_pots or 1, 1, n_members or 1)."""
    day = before[..., :_DAY_H]
    if day.shape[-1] < _DAY_H:
        day = np.concatenate([day, around[..., : _DAY_H - day.shape[-1]]], axis=-1)
    return heat_at(day[:, None].mean(axis=-1), soil)


def hot_roots(stands: Sequence[Stand], at: Weather, ball: Ball) -> Course:
    """Return the middle of root balls against their lines of heat, and the wall from when a day's heat kills there.

    It counts as at the line of danger at least in the hours of harmful heat after a killing dose since midnight.
    """
    own = [stand.hot_roots for stand in stands]
    lines = lines_of(own)
    killed = (running(root_heat_dose(ball.wall), at.clock) >= 1.0) & (ball.wall >= HARM_FROM_C)
    told = np.where(killed, np.maximum(ball.wall, lines[..., 1:]), ball.middle)
    return Course(
        "hot roots", np.maximum(told, ball.middle), lines, reasons_of(own), at.rules.near.c.value, at.clock
    )


def cold_roots(stands: Sequence[Stand], at: Weather, ball: Ball) -> Course:
    """Return the wall of root balls against their lines of cold, and their middle where that of danger is ``deep``."""
    own = [stand.cold_roots for stand in stands]
    lines = lines_of(own, falling=True)
    near = at.rules.near.c.value
    middle = np.where(column(cold_lines.deep for cold_lines in own), ball.middle, np.nan)
    return Course("cold roots", ball.wall, lines, reasons_of(own), near, at.nights, falling=True, deep=middle)
