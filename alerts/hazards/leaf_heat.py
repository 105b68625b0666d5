"""Leaf heat: the temperature of leaves hour by hour, by sun, wind and the water they have."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from alerts.hazards.course import Course, column, lines_of, reasons_of
from alerts.hazards.stand import lowered
from calendar_core.science.hour.leaf import conductances, leaf_temperature_c

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from alerts.hazards.place import Weather
    from alerts.hazards.stand import Stand

    Floats = NDArray[np.float64]

STEPS = 3  # of Newton's method: two are within 0.001 degC in the hours of real years, one is not


def leaf_c(stands: Sequence[Stand], at: Weather, used: Floats) -> Floats:
    """Return the temperature of leaves or buds [degC], (n_stands, n_members, n_hours).

    ``used`` is as `drying.used_share`: stomata shut as the water goes, and at night.

    Source: `science.hour.leaf`; what opens and shuts stomata is an estimate, config/exposure.toml.
    """
    rules, leaves = at.rules.drying, [stand.leaf for stand in stands]
    until, shut_from = rules.stomata_open_until.value, rules.stomata_shut_from.value
    open_share = np.clip((shut_from - used) / (shut_from - until), 0.0, 1.0) * at.day
    shut = column(leaf.stomata_shut_mol for leaf in leaves)
    stomata = shut + (column(leaf.stomata_open_mol for leaf in leaves) - shut) * open_share
    layer = conductances(
        at.wind_ms,
        column(leaf.width_m for leaf in leaves),
        stomata,
        upper_share=column(leaf.upper_share for leaf in leaves),
    )
    absorbed = at.heat_w_m2 + column(leaf.absorptance for leaf in leaves) * at.sun_w_m2
    return leaf_temperature_c(
        absorbed, at.t_c, at.hours.vapour_kpa, *layer, pressure_kpa=at.place.pressure_kpa, steps=STEPS
    )


def heat(stands: Sequence[Stand], at: Weather, leaf: Floats, more_light: NDArray[np.bool_]) -> Course:
    """Return leaf temperature against the lines of heat, lower on days of more light than a tree is used to.

    ``more_light`` is (n_stands, n_days).
    """
    own = [stand.heat for stand in stands]
    if not more_light.any():
        return Course("heat", leaf, lines_of(own), reasons_of(own), at.rules.near.c.value, at.clock)
    by_day = [
        [lowered(heat_lines, "more light", at.rules) if heat_lines and more else heat_lines for more in days]
        for heat_lines, days in zip(own, more_light, strict=True)
    ]
    lines = np.concatenate([lines_of(days).transpose(1, 0, 2) for days in by_day])
    reasons = [[() if heat_lines is None else heat_lines.reasons for heat_lines in days] for days in by_day]
    return Course("heat", leaf, lines, reasons, at.rules.near.c.value, at.clock)
