"""Drying: how much of a pot's easily taken water is used, and whether it lasts until evening."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from alerts.hazards.course import Course, column, lines_of, reasons_of
from alerts.hazards.stand import Lines
from calendar_core.science.hour.container import radius_m
from calendar_core.science.hour.drying import demand_l

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from alerts.hazards.place import Weather
    from alerts.hazards.stand import Pot, Stand

    Floats = NDArray[np.float64]

_FULL_L = 1e4  # a watering brings more than any pot holds


def used_share(stands: Sequence[Stand], at: Weather) -> Floats:
    """Return the share of the easily taken water that is used at the end of each hour, (n_stands, n_members, n_hours).

    A pot is full at the beginning and at each watering. Beyond 1 the tree lives on what it takes up hardly, which
    slows it; that is not counted.

    Source: FAO-56 eq. 56 on the spot's own reference evapotranspiration; a running sum that cannot fall below full.
    """
    rules = at.rules.pot
    mouth = column(mouth_m2(stand.pot) for stand in stands)
    demand = demand_l(at.reference_mm, column(stand.drinks_m2 for stand in stands), 1.0)
    flow = demand - rules.rain_share.value * at.rain_mm * mouth
    poured = flow.copy()
    poured[..., :-1] -= np.where(_watered(stands, at), _FULL_L, 0.0)[..., 1:]  # as the hour before ends
    total = np.cumsum(poured, axis=-1)
    missing = total - np.minimum(np.minimum.accumulate(total, axis=-1), 0.0)
    used = flow
    used[..., 1:] += missing[..., :-1]
    return np.maximum(used, 0.0) / column(stand.pot.litres * stand.pot.easy_share for stand in stands)


def mouth_m2(pot: Pot) -> float:
    """Return the area of a round pot's mouth [m2].

    Source: volume of a cylinder.

    Examples
    --------
    >>> from alerts.hazards.stand import Pot
    >>> round(2.0 * (mouth_m2(Pot(1.5, 18.0, 0.16, 0.35, 0.3)) / np.pi) ** 0.5, 3)
    0.185
    """
    return float(np.pi * radius_m(pot.litres, pot.depth_share) ** 2)


def _watered(stands: Sequence[Stand], at: Weather) -> NDArray[np.bool_]:
    """Tell in which hours a watering falls, (n_stands, 1, n_hours)."""
    hour = np.floor(at.clock.hour)
    known = {stand.watered_h: np.isin(hour, np.floor(stand.watered_h)) for stand in stands}
    return np.stack([known[stand.watered_h] for stand in stands])[:, None]


def drying(stands: Sequence[Stand], at: Weather, used: Floats) -> Course:
    """Return the share of water used between a day's first watering and the evening; 0 outside."""
    rules = at.rules.drying
    first = column(min(stand.watered_h, default=0.0) for stand in stands)
    counts = (at.clock.hour >= np.floor(first)) & (at.clock.hour < rules.evening_h.value)
    lines = [Lines(rules.used.caution, rules.used.danger)] * len(stands)
    return Course(
        "drying",
        np.where(counts, used, 0.0),
        lines_of(lines),
        reasons_of(lines),
        at.rules.near.share.value,
        at.clock,
    )
