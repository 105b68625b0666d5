"""How the air where a tree stands differs from the open air, by the thermal profile of its spot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calendar_core.knowledge.words import ThermalProfile


@dataclass(frozen=True, slots=True)
class Thermal:
    """Offsets on the night minimum and day maximum [degC], and the floor the place is kept above."""

    night_offset_c: float = 0.0
    day_offset_c: float = 0.0
    floor_c: float = -np.inf


# Estimates around the winter storage band of -4 to +4 degC that societies give for frames and garages. A heated
# place is a room that people live in: 16 degC by night, two below the 18 that the WHO holds to be the least for a
# home (from memory). Editable when spots carry their own thermometer.
THERMAL: dict[ThermalProfile, Thermal] = {
    "open": Thermal(),
    "cold frame": Thermal(night_offset_c=2.0, day_offset_c=2.0, floor_c=-4.0),
    "frost-free": Thermal(floor_c=2.0),
    "heated": Thermal(floor_c=16.0),
}

History = tuple[
    tuple[int, "ThermalProfile"], ...
]  # (first day index, profile), rising; before the first: open


DIM: tuple[ThermalProfile, ...] = ("frost-free", "heated")
"""Rooms, where what light there is comes through a window."""


def inside(history: History, n_days: int) -> NDArray[np.bool_]:
    """Return the days (n_days,) that a tree with this history spends in a room.

    >>> inside(((0, "open"), (1, "heated"), (3, "open")), 4).tolist()
    [False, True, True, False]
    """
    out = np.zeros(n_days, dtype=np.bool_)
    ends = [start for start, _ in history[1:]] + [n_days]
    for (start, profile), end in zip(history, ends, strict=True):
        out[max(start, 0) : max(end, 0)] = profile in DIM
    return out


def felt(
    t_min_c: NDArray[np.float64], t_max_c: NDArray[np.float64], history: History
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the minimum and maximum (n_traces, n_days) a tree has felt and will feel, given its moves.

    Examples
    --------
    >>> low, high = felt(np.array([[-9.0, -9.0]]), np.array([[1.0, 1.0]]), ((1, "frost-free"),))
    >>> low.tolist(), high.tolist()
    ([[-9.0, 2.0]], [[1.0, 2.0]])
    """
    if all(profile == "open" for _, profile in history):
        return t_min_c, t_max_c
    low, high = t_min_c.copy(), t_max_c.copy()
    ends = [start for start, _ in history[1:]] + [t_min_c.shape[1]]
    for (start, profile), end in zip(history, ends, strict=True):
        air, days = THERMAL[profile], slice(max(start, 0), max(end, 0))
        low[:, days] = np.maximum(t_min_c[:, days] + air.night_offset_c, air.floor_c)
        high[:, days] = np.maximum(t_max_c[:, days] + air.day_offset_c, air.floor_c)
    return low, high
