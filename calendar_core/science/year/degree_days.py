"""Degree-days of a day from its mean or its extremes, and what an upper cut-off leaves of them.

The methods on extremes take degC or degF alike: thresholds and answers are in the unit of the temperatures.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Cutoff = Literal["horizontal", "intermediate", "vertical"]


def degree_days(t_mean_c: Floats, base_c: float) -> Floats:
    """Return daily max(0, T - base) [degC d], shape of ``t_mean_c``: the floor comes last.

    Source: McMaster & Wilhelm 1997, Agric. For. Meteorol. 87:291, interpretation 1.

    Examples
    --------
    >>> degree_days(np.array([15.0, 3.0]), 10.0)
    array([5., 0.])
    """
    return np.asarray(np.maximum(0.0, t_mean_c - base_c))


def average(t_min: Floats, t_max: Floats, lower: float) -> Floats:
    """Return `degree_days` [degree d] of the middle between a day's extremes; the shapes broadcast.

    Raises ValueError where ``t_min`` is above ``t_max``. NaN gives NaN.

    Source: McMaster & Wilhelm 1997, Agric. For. Meteorol. 87:291, interpretation 1.

    Examples
    --------
    >>> average(np.array([-5.0]), np.array([15.0]), 0.0)
    array([5.])
    """
    _check_extremes(t_min, t_max)
    return degree_days((t_min + t_max) / 2, lower)


def modified(t_min: Floats, t_max: Floats, lower: float, upper: float = np.inf) -> Floats:
    """Return degree-days [degree d] of the mean of extremes that are each first held within the thresholds.

    Raises ValueError where ``t_min`` is above ``t_max`` or ``lower`` is not below ``upper``. NaN gives NaN.

    Source: McMaster & Wilhelm 1997, Agric. For. Meteorol. 87:291, interpretation 2; with 50 and 86 degF the
    "50/86" method of maize.

    Examples
    --------
    >>> modified(np.array([-5.0]), np.array([15.0]), 0.0)
    array([7.5])
    """
    _check_extremes(t_min, t_max)
    _check_thresholds(lower, upper)
    return np.asarray((np.clip(t_min, lower, upper) + np.clip(t_max, lower, upper)) / 2 - lower)


def triangle(
    t_min: Floats, t_max: Floats, lower: float, upper: float = np.inf, cutoff: Cutoff = "horizontal"
) -> Floats:
    """Return degree-days [degree d] of days that rise and fall in straight lines between their extremes.

    Parameters
    ----------
    t_min, t_max : any shapes that broadcast [degree]
        NaN gives NaN.
    lower, upper : [degree]
        Development begins above ``lower``; above ``upper`` it goes on at its highest rate ("horizontal"),
        slows as steeply as it rose, the day's sum being at least 0 ("intermediate"), or stops ("vertical").

    Raises
    ------
    ValueError
        Where ``t_min`` is above ``t_max``, or if ``lower`` is not below ``upper``, or for another cut-off.

    Source
    ------
    Zalom et al. 1983, Degree-days: the calculation and use of heat units in pest management, University of
    California, by the case table in CRAN degday 0.4.0, written here for all cases at once.

    Examples
    --------
    >>> triangle(np.array([2.0]), np.array([18.0]), 5.0, 30.0)
    array([5.28125])
    """
    return _single(_TRIANGLE, t_min, t_max, lower, upper, cutoff)


def sine(
    t_min: Floats, t_max: Floats, lower: float, upper: float = np.inf, cutoff: Cutoff = "horizontal"
) -> Floats:
    """Return degree-days [degree d] of days that follow one sine between their extremes.

    Arguments and errors are those of `triangle`.

    Source: Baskerville & Emin 1969, Ecology 50:514; with an upper cut-off Allen 1976, Environ. Entomol. 5:388
    (pages from memory); cut-offs as in Zalom et al. 1983.

    Examples
    --------
    >>> sine(np.array([0.0]), np.array([10.0]), 5.0) * np.pi
    array([5.])
    """
    return _single(_SINE, t_min, t_max, lower, upper, cutoff)


def double_triangle(
    t_min: Floats,
    t_max: Floats,
    t_min_next: Floats,
    lower: float,
    upper: float = np.inf,
    cutoff: Cutoff = "horizontal",
) -> Floats:
    """Return `triangle` with a second half-day that falls to the next day's minimum (see `next_day`).

    Other arguments, units and errors are those of `triangle`; ``t_min_next`` may lie above ``t_max``.

    Source: Zalom et al. 1983.

    Examples
    --------
    >>> double_triangle(np.array([45.0]), np.array([70.0]), np.array([50.0]), 55.0, 90.0)
    array([5.0625])
    """
    return _double(_TRIANGLE, t_min, t_max, t_min_next, lower, upper, cutoff)


def double_sine(
    t_min: Floats,
    t_max: Floats,
    t_min_next: Floats,
    lower: float,
    upper: float = np.inf,
    cutoff: Cutoff = "horizontal",
) -> Floats:
    """Return `sine` with a second half-day that falls to the next day's minimum (see `next_day`).

    Other arguments, units and errors are those of `triangle`; ``t_min_next`` may lie above ``t_max``.

    Source: Allen 1976, Environ. Entomol. 5:388 (page from memory); Zalom et al. 1983.

    Examples
    --------
    >>> double_sine(np.array([45.0]), np.array([70.0]), np.array([50.0]), 55.0, 90.0).round(2)
    array([5.7])
    """
    return _double(_SINE, t_min, t_max, t_min_next, lower, upper, cutoff)


def next_day(t_min: Floats) -> Floats:
    """Return the next day's values along the last axis; the last day, whose next is unknown, keeps its own.

    Source: a shift; so the double methods give the single ones on the last day.

    Examples
    --------
    >>> next_day(np.array([3.0, 5.0, 4.0]))
    array([5., 4., 4.])
    """
    return np.concatenate([t_min[..., 1:], t_min[..., -1:]], axis=-1)


class _Shape(NamedTuple):
    """The course of a day, told at levels from -1 (its minimum) to 1 (its maximum)."""

    share: Callable[[Floats], Floats]  # of the day that is above the level
    part: Callable[[Floats], Floats]  # of half the range, as a mean over the day: the share from there up


_TRIANGLE = _Shape(lambda level: (1 - level) / 2, lambda level: (1 - level) ** 2 / 4)
_SINE = _Shape(
    lambda level: np.arccos(level) / np.pi,
    lambda level: (np.sqrt(1 - level**2) - level * np.arccos(level)) / np.pi,
)


def _single(
    shape: _Shape, t_min: Floats, t_max: Floats, lower: float, upper: float, cutoff: Cutoff
) -> Floats:
    _check_extremes(t_min, t_max)
    _check_thresholds(lower, upper)
    if cutoff not in {"horizontal", "intermediate", "vertical"}:
        raise ValueError(f"cut-off {cutoff!r}: must be horizontal, intermediate or vertical")
    heat = _part_above(shape, t_min, t_max, lower)
    if upper < np.inf:
        weight = 2 if cutoff == "intermediate" else 1
        heat = heat - weight * _part_above(shape, t_min, t_max, upper)
        if cutoff == "vertical":
            heat = heat - (upper - lower) * shape.share(_level(t_min, t_max, upper))
    return np.asarray(np.maximum(0.0, heat))


def _double(
    shape: _Shape,
    t_min: Floats,
    t_max: Floats,
    t_min_next: Floats,
    lower: float,
    upper: float,
    cutoff: Cutoff,
) -> Floats:
    # A night may stay warmer than the day before it was: then the second half rises.
    coolest, warmest = np.minimum(t_max, t_min_next), np.maximum(t_max, t_min_next)
    first = _single(shape, t_min, t_max, lower, upper, cutoff)
    return np.asarray((first + _single(shape, coolest, warmest, lower, upper, cutoff)) / 2)


def _part_above(shape: _Shape, t_min: Floats, t_max: Floats, x: float) -> Floats:
    """Return the mean over the day of max(0, T - x)."""
    inside = (t_max - t_min) / 2 * shape.part(_level(t_min, t_max, x))
    return np.asarray(inside + np.maximum(0.0, t_min - x))


def _level(t_min: Floats, t_max: Floats, x: float) -> Floats:
    """Return where ``x`` lies in the day's range, -1 to 1; in a day without range it is the one or the other."""
    half_range = np.asarray((t_max - t_min) / 2)
    above_middle = np.asarray(x - (t_min + t_max) / 2)
    held = np.clip(above_middle, -half_range, half_range)
    return np.divide(held, half_range, out=np.where(above_middle < 0, -1.0, 1.0), where=half_range > 0)


def _check_extremes(t_min: Floats, t_max: Floats) -> None:
    wrong = np.asarray(t_min > t_max)
    if wrong.any():
        low, high = (each[wrong][0] for each in np.broadcast_arrays(t_min, t_max))
        place = tuple(int(i) for i in np.argwhere(wrong)[0])
        raise ValueError(f"minimum {low} is above maximum {high} at index {place}")


def _check_thresholds(lower: float, upper: float) -> None:
    if not lower < upper:
        raise ValueError(f"lower threshold {lower} must be below upper cut-off {upper}")
