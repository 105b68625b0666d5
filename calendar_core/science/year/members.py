"""Stratified draws: the error part of a member. A member is a trace with one draw."""

from __future__ import annotations

import math
from functools import cache
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

DRAWS = 25  # with 30 traces 750 members: quantiles of 10 and 90 % are then steady to a fraction of a day

_NORMAL = NormalDist()


def normal_strata(count: int) -> NDArray[np.float64]:
    """Return the standard normal quantiles at (j + 1/2) / count, j = 0 .. count - 1, rising.

    Source: stratified sampling by the middle of equal shares.

    Examples
    --------
    >>> [round(float(z), 3) for z in normal_strata(3)]
    [-0.967, 0.0, 0.967]
    """
    return np.array([_NORMAL.inv_cdf((j + 0.5) / count) for j in range(count)])


@cache  # every run of the stage model asks for the same few
def shuffled_strata(n_traces: int, count: int, salt: int) -> NDArray[np.float64]:
    """Return (n_traces, count) standard normal strata, each row in its own order, fixed by ``salt``.

    Rows pair every stratum of one error with those of another without their rising together.

    Source: Latin hypercube sampling.
    """
    rows = np.tile(normal_strata(count), (n_traces, 1))
    shuffled = np.random.default_rng(salt).permuted(rows, axis=1)
    shuffled.setflags(write=False)  # shared by all who ask for it
    return shuffled


def strata_above(lower: NDArray[np.float64], count: int) -> NDArray[np.float64]:
    """Return (n_traces, count) strata of a standard normal known to lie above ``lower``.

    ``lower`` is (n_traces,), or (n_traces, count) where each draw has a bound of its own.

    Source: quantiles of the truncated normal; the draws below the bound are dropped, the rest renormalised.

    Examples
    --------
    >>> bool((strata_above(np.array([0.5]), 25) > 0.5).all())
    True
    """
    if lower.ndim == 1:  # bounds are few: one, on shared measured days
        strata = {bound: [_above(bound, j, count) for j in range(count)] for bound in set(lower.tolist())}
        return np.array([strata[bound] for bound in lower.tolist()]).reshape(-1, count)
    return np.array([[_above(bound, j, count) for j, bound in enumerate(row)] for row in lower.tolist()])


def _above(bound: float, j: int, count: int) -> float:
    below = min(_NORMAL.cdf(bound), 1.0 - 1e-9) if math.isfinite(bound) else 0.0
    return max(_NORMAL.inv_cdf(below + (1.0 - below) * (j + 0.5) / count), bound)


def picked_above(lower: NDArray[np.float64]) -> NDArray[np.intp]:
    """Return by trace which draws to go on with (n_traces, n_draws), each as often as a normal passes its bound.

    ``lower`` (n_traces, n_draws) are the bounds that another error, one of each draw, puts on a standard normal.

    Source: systematic resampling (e.g. Douc, Cappe and Moulines 2005) by the chances of the normal's upper tail.
    """
    chances = np.array([[math.erfc(bound / math.sqrt(2.0)) for bound in row] for row in lower.tolist()])
    count = lower.shape[1]
    sums = np.cumsum(chances + np.finfo(float).tiny, axis=1)
    places = (np.arange(count) + 0.5) / count
    return np.array([np.searchsorted(row, places * row[-1]) for row in sums])
