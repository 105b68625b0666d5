"""Winter chill of each hour in the three common measures; none of them can be converted into another.

All take hourly temperature (..., n_hours) [degC] without gaps and return the increments of the hours, same
shape; the caller sums. Ratios between the measures differ between places without limit (Luedeling and Brown
2011, Int. J. Biometeorol. 55:411), so a need counts only in the measure in which it was found.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

UTAH_EDGES_C = np.array([1.4, 2.4, 9.1, 12.4, 15.9, 18.0])  # each interval holds its upper edge
UTAH_WEIGHTS = np.array([0.0, 0.5, 1.0, 0.5, 0.0, -0.5, -1.0])

# The Dynamic model's activation energies [K] and rates [1/h] of making (0) and breaking (1) the product,
# the slope of the step by which a full product becomes a portion, and its middle [K].
E0_K, E1_K = 4153.5, 12888.8
A0_PER_H, A1_PER_H = 1.395e5, 2.567e18
SLOPE, MIDDLE_K = 1.6, 277.0


def chill_hours(hourly_c: Floats) -> Floats:
    """Return 1 for each hour of 0 to 7.2 degC, both included, else 0 [h].

    Source: Weinberger 1950, Proc. Am. Soc. Hortic. Sci. 56:122; bounds as coded in the R package chillR 0.77.

    Examples
    --------
    >>> chill_hours(np.array([-0.1, 0.0, 7.2, 7.3]))
    array([0., 1., 1., 0.])
    """
    return ((hourly_c >= 0.0) & (hourly_c <= 7.2)).astype(np.float64)


def utah_units(hourly_c: Floats) -> Floats:
    """Return Utah chill units, -1 to 1 an hour; warm hours take chill away.

    Source: Richardson, Seeley and Walker 1974, HortScience 9:331; edges as coded in the R package chillR 0.77.

    Examples
    --------
    >>> utah_units(np.array([1.4, 2.0, 6.0, 12.0, 14.0, 18.0, 18.1]))
    array([ 0. ,  0.5,  1. ,  0.5,  0. , -0.5, -1. ])
    """
    return np.asarray(UTAH_WEIGHTS[UTAH_EDGES_C.searchsorted(hourly_c)])


def chill_portions(hourly_c: Floats, zero_c_k: float = 273.0) -> Floats:
    """Return chill portions of the Dynamic model; warmth undoes what is not yet a portion.

    The first hour only starts the series, from no product at all.

    Parameters
    ----------
    hourly_c : (..., n_hours) [degC]
    zero_c_k : float
        What 0 degC is called in kelvin. The constants were published with 273; 273.15 moves sums by a few
        percent and gives those of the Python library xclim.

    Source
    ------
    Fishman, Erez and Couvillon 1987, J. Theor. Biol. 124:473 and 126:309; constants and order of steps after
    Luedeling et al. 2009, as coded in the R package chillR 0.77 and the Python library xclim 0.62.

    Examples
    --------
    >>> round(float(chill_portions(np.full(720, 6.0)).sum()), 4)
    24.4326
    """
    # Hours first, so that an hour of all traces lies together in memory.
    hours = np.ascontiguousarray(hourly_c.reshape(-1, hourly_c.shape[-1]).T)
    level, becoming, break_rate = dynamic_terms(hours, zero_c_k)
    product = intermediate_product(level, becoming, break_rate)
    return np.where(product >= 1.0, product * becoming, 0.0).T.reshape(hourly_c.shape)


def dynamic_terms(t_c: Floats, zero_c_k: float = 273.0) -> tuple[Floats, Floats, Floats]:
    """Return the product's final level, the share a full one turns into a portion, and the rate of breaking [1/h].

    Source: as `chill_portions`, there called xs, xi and k1; shapes as ``t_c``.

    Examples
    --------
    >>> [round(float(term), 6) for term in dynamic_terms(np.array(6.0))]
    [2.150863, 0.959962, 0.022211]
    """
    t_k = t_c + zero_c_k
    level = A0_PER_H / A1_PER_H * np.exp((E1_K - E0_K) / t_k)
    becoming = 1.0 / (1.0 + np.exp(SLOPE * MIDDLE_K * (MIDDLE_K / t_k - 1.0)))
    return level, becoming, A1_PER_H * np.exp(-E1_K / t_k)


def intermediate_product(level: Floats, becoming: Floats, break_rate: Floats) -> Floats:
    """Return the intermediate product at the end of each hour; all shapes (n_hours, n_traces), hours first.

    Source: as `chill_portions`. An hour moves the product from where it is, less what became a portion in
    the hour before, toward its level: E = level - (level - E) exp(-rate).
    """
    kept = np.exp(-break_rate)
    product = level * (1.0 - kept)
    product[0] = 0.0
    kept_if_full = kept[1:] * (1.0 - becoming[:-1])
    full, whole = np.zeros(kept.shape[1:], dtype=bool), np.ones(kept.shape[1:])
    before = product[0]
    # The time goes into calls, four for each hour of all traces; ``now`` holds the gain until it is used.
    for share, share_if_full, now in zip(kept[1:], kept_if_full, product[1:], strict=True):
        np.greater_equal(before, whole, full)
        np.putmask(share, full, share_if_full)
        np.multiply(before, share, share)
        np.add(now, share, now)
        before = now
    return product
