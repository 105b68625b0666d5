"""Sunburn: much more light in a day than a tree's leaves are used to, whatever the heat."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from alerts.hazards.course import Course, lines_of, reasons_of
from alerts.hazards.place import lengths
from alerts.hazards.stand import Lines

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from alerts.hazards.place import Weather
    from alerts.hazards.stand import Stand

    Floats = NDArray[np.float64]

NOTHING = -1.0  # no light on top of none


def sunburn(stands: Sequence[Stand], at: Weather) -> Course:
    """Return the share of light that comes on top, at the end of each hour of the days so far.

    What a tree is used to moves with the days of the forecast, as it takes on the light of the spot. Days too dim
    to burn count as nothing on top.

    Source: estimate, config/exposure.toml.
    """
    rules = at.rules.light
    days = lengths(at.clock, len(at.hours))
    usual = np.stack([_used_to(stand.used_to_mol, at) for stand in stands])
    running = np.broadcast_to(at.running_mol, usual.shape[1:2] + at.running_mol.shape[1:])
    extra = running / np.repeat(usual, days, axis=-1) - 1.0
    lines = [
        None if stand.used_to_mol is None else Lines(rules.extra.caution, rules.extra.danger)
        for stand in stands
    ]
    burns = (running >= rules.from_mol.value) & at.day
    values = np.where(burns, extra, NOTHING)
    return Course("sunburn", values, lines_of(lines), reasons_of(lines), at.rules.near.share.value, at.clock)


def _used_to(mol: float | None, at: Weather) -> Floats:
    """Return the mean light [mol m-2 d-1] of the ten days before each day, (n_members or 1, n_days)."""
    n = round(at.rules.light.used_to_days.value)
    daily = at.daily_mol
    if mol is None:
        return np.full_like(daily, np.inf)
    longer = np.concatenate([np.full((daily.shape[0], n), mol), daily[:, :-1]], axis=-1)
    means = np.lib.stride_tricks.sliding_window_view(longer, n, axis=-1).mean(axis=-1)
    return np.asarray(np.maximum(means, np.finfo(np.float64).tiny))
