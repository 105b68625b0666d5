"""Heat and cold of the root ball in its pot."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from alerts.hazards.course import Course, column, lines_of, reasons_of
from calendar_core.science.container import freezing_degrees, lag_h, root_ball_c, wall_c

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from alerts.hazards.place import Weather
    from alerts.hazards.stand import Stand

    Floats = NDArray[np.float64]


def ball_c(stands: Sequence[Stand], at: Weather) -> Floats:
    """Return the temperature in the middle of root balls [degC], (n_stands, n_members, n_hours).

    They begin at the mean of their wall over the first 24 hours.

    Source: `science.container`; what the ground gives at night is an estimate, config/exposure.toml.
    """
    pots = [stand.pot for stand in stands]
    gain = column(pot.sun_gain_c for pot in pots)
    night = np.where(at.day, 0.0, at.rules.surface_of(at.spot.surface).roots_night_c)
    wall = wall_c(at.t_c, at.light_w_m2, gain) + night
    lag = lag_h(column(pot.litres for pot in pots)[..., 0])
    freezing = freezing_degrees(column(pot.held_share for pot in pots)[..., 0])
    return root_ball_c(wall, lag, wall[..., :24].mean(axis=-1), freezing)


def hot_roots(stands: Sequence[Stand], at: Weather, ball: Floats) -> Course:
    """Return root balls against their lines of heat."""
    own = [stand.hot_roots for stand in stands]
    return Course("hot roots", ball, lines_of(own), reasons_of(own), at.rules.near.c.value, at.clock)


def cold_roots(stands: Sequence[Stand], at: Weather, ball: Floats) -> Course:
    """Return root balls against their lines of cold."""
    own = [stand.cold_roots for stand in stands]
    lines = lines_of(own, falling=True)
    return Course("cold roots", ball, lines, reasons_of(own), at.rules.near.c.value, at.nights, falling=True)
