"""Thread and approach grafts: whether the far side has grown thicker than the near one, and goes on so."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import takewhile
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

LOOKS_TO_BE_READY = 2  # one reading may be wrong (common practice: two looks)


@dataclass(frozen=True, slots=True)
class GraftState:
    """What the looks at a graft say.

    ``ratio`` is the far side by the near one at the last look, ``trend`` its change in 100 days, None before there
    are two looks. ``looks`` counts those up to the last that reach the threshold without a break. ``wait_days`` is
    how long after the last look the trend reaches it: 0 where it has, inf where it does not rise.
    """

    ratio: float
    trend: float | None
    looks: int
    ready: bool
    wait_days: float


def graft_state(
    entry_mm: Sequence[float], exit_mm: Sequence[float], days: Sequence[float], *, threshold: float
) -> GraftState:
    """Return whether a graft lives on its own: never by how long ago it was made.

    It is ready if both last looks reach the threshold and the last ratio is not below the one before. Of several
    entries of a day the last counts, so that a day is one look.

    Parameters
    ----------
    entry_mm, exit_mm : (n_looks,) [mm]
        Diameters of the shoot before and behind what it passes, above 0.
    days : (n_looks,) [d]
        Days of the looks on any count, in any order; days of growth alone give a wait in days of growth.
    threshold : scalar
        The ratio from which the far side is clearly the thicker.

    Raises
    ------
    ValueError
        Without a look, if the three differ in number, or for a diameter that is not above 0.

    Source
    ------
    Common practice: a pronounced jump in thickness; the trend is a least-squares line. The threshold is the caller's,
    with its basis.

    Examples
    --------
    >>> state = graft_state([5.0, 5.0, 5.0], [5.0, 5.8, 6.0], [0, 50, 100], threshold=1.15)
    >>> round(state.ratio, 2), round(state.trend or 0.0, 2), state.looks, state.ready
    (1.2, 0.2, 2, True)
    """
    by_day = _ratios(entry_mm, exit_mm, days)
    ratios = [by_day[day] for day in sorted(by_day)]
    last = ratios[-1]
    looks = sum(1 for _ in takewhile(lambda ratio: ratio >= threshold, reversed(ratios)))
    trend = _slope(sorted(by_day), ratios)
    ready = looks >= LOOKS_TO_BE_READY and last >= ratios[-2]
    return GraftState(
        last, None if trend is None else 100.0 * trend, looks, ready, _wait(last, trend, threshold)
    )


def _ratios(entry_mm: Sequence[float], exit_mm: Sequence[float], days: Sequence[float]) -> dict[float, float]:
    if not len(entry_mm) == len(exit_mm) == len(days) > 0:
        raise ValueError(
            f"{len(entry_mm)} entry and {len(exit_mm)} exit diameters on {len(days)} days: must be as many, and at least one"
        )
    for diameter in (*entry_mm, *exit_mm):
        if not diameter > 0.0:
            raise ValueError(f"diameter {diameter}: must be above 0 mm")
    return {day: far / near for near, far, day in zip(entry_mm, exit_mm, days, strict=True)}


def _slope(days: Sequence[float], ratios: Sequence[float]) -> float | None:
    if len(days) == 1:
        return None
    off = np.asarray(days, dtype=float) - np.mean(days)
    return float(off @ np.asarray(ratios) / (off @ off))


def _wait(ratio: float, slope: float | None, threshold: float) -> float:
    if ratio >= threshold:
        return 0.0
    return (threshold - ratio) / slope if slope is not None and slope > 0.0 else math.inf
