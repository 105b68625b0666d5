"""Members: quantiles over the possible years and error draws of a window or stage, and values that one group may hold for all."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


T = TypeVar("T")
QUANTILES = (0.1, 0.5, 0.9)


def by_group(labels: NDArray[Any], groups: NDArray[np.intp]) -> NDArray[Any]:
    """Return labels (n_traces, n_groups, n_draws) with the groups wanted as rows; one row that speaks for all stays one."""
    rows = labels.swapaxes(0, 1)
    return rows if len(rows) == 1 else rows[groups]


def quantiles(rows: Floats, has: NDArray[np.bool_]) -> Floats:
    """Return the 10, 50 and 90 % quantiles (3, n) of ``rows`` (n, n_traces, n_draws) where ``has``; inf where none."""
    most = has.sum(axis=(1, 2)) - 1
    if most.max() < 0:  # windows that are over, in all members
        return np.full((len(QUANTILES), len(has)), np.inf)
    flat = np.where(has, rows, np.inf).astype(np.float32).reshape(len(has), -1)
    flat.sort(axis=1)
    every, last = np.arange(len(flat)), np.maximum(most, 0)
    return np.stack([flat[every, place_of(q, last)] for q in QUANTILES]).astype(float)


def place_of(share: float, last: NDArray[np.intp]) -> NDArray[np.intp]:
    """Return the place of a quantile among sorted members 0 to ``last``, as a year yet to come has it.

    A new year is as likely to fall into any of the n + 1 gaps (Weibull's plotting position): with 30 years the
    range from the 3rd to the 26th held 74 % of years that came, from the 2nd to the 27th 80 %.
    """
    place: NDArray[np.intp] = np.clip(np.rint(share * (last + 2) - 1), 0, last).astype(np.intp)
    return place


def of_group(values: Sequence[T], group: int) -> T:
    """Return a group's value, or the one that stands for all groups."""
    return values[group] if len(values) > 1 else values[0]


def middles(labels: Floats, share: float = 0.5) -> Floats:
    """Return the quantile of each group (n_groups,) over the members in which a moment comes; inf where in none."""
    rows = np.sort(labels.swapaxes(0, 1).reshape(labels.shape[1], -1), axis=1)
    place = share * np.maximum(np.isfinite(rows).sum(axis=1) - 1, 0)
    group, before = np.arange(len(rows)), np.floor(place).astype(np.intp)
    below, above = rows[group, before], rows[group, np.ceil(place).astype(np.intp)]
    step = np.subtract(above, below, out=np.zeros(len(rows)), where=below < above)  # none between inf and inf
    return np.asarray(below + (place - before) * step)
