"""The stage model: one rate of development for all woody species, and the dates at which sums reach a need.

Labels. A moment on a daily axis is a float: the whole number ``i`` is the end of day ``i``, so the event
with label ``x`` falls on day ``ceil(x)``. ``inf`` means that it does not happen on the axis.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rates:
    """The constants shared by all woody species.

    Source: fitted on Harvard Forest HF003 1990-2001 (O'Keefe, CC BY) and PhenoCam spring dates together;
    ``gate_h`` belongs to day length from sunrise to sunset. The chill terms are a safety choice: in the
    fitted winters switching them off changes nothing.
    """

    base_c: float = 4.0
    gate_h: float = 12.40
    gate_width_h: float = 0.6
    chill_mid_c: float = 7.0
    chill_width_c: float = 1.5
    chill_gain: float = 1.0
    chill_scale_days: float = 30.0


RATES = Rates()
NO_WINTER_CHILL_DAYS = 15.0  # estimate: half of the chill scale; below it "winter" says nothing about spring
NO_WINTER_DAY_LENGTH_RANGE_H = (
    1.0  # estimate: about 9 degrees of latitude, where no spring shows in the light
)


def gate(day_length_h: Floats, rates: Rates = RATES) -> Floats:
    """Return the weight of daylight on forcing, 0 to 1, shape of ``day_length_h`` [h].

    Source: as `Rates`; a smooth step, one half at ``gate_h``.

    Examples
    --------
    >>> [round(float(w), 4) for w in gate(np.array([10.0, 12.25, 14.0]), Rates(gate_h=12.25))]
    [0.023, 0.5, 0.9487]
    """
    return np.asarray(1.0 / (1.0 + np.exp(-(day_length_h - rates.gate_h) / rates.gate_width_h)))


def forcing(t_mean_c: Floats, day_length_h: Floats, rates: Rates = RATES) -> Floats:
    """Return daily forcing max(0, T - base) x gate(L) [degC], the shapes broadcast.

    Source: as `Rates`.
    """
    return np.asarray(np.maximum(0.0, t_mean_c - rates.base_c) * gate(day_length_h, rates))


def chill(t_mean_c: Floats, rates: Rates = RATES) -> Floats:
    """Return daily chill, 0 to 1 [d], falling smoothly through 7 degC.

    Source: as `Rates`.
    """
    return np.asarray(1.0 / (1.0 + np.exp((t_mean_c - rates.chill_mid_c) / rates.chill_width_c)))


def softened_heat(heat_sum: Floats, chill_sum: Floats, rates: Rates = RATES) -> Floats:
    """Return heat / (1 + gain exp(-chill / scale)) [degC d]; chill softens and never blocks.

    Source: as `Rates`.

    Examples
    --------
    >>> round(float(softened_heat(np.array(168.658), np.array(156.369))), 2)
    167.74
    """
    return np.asarray(heat_sum / (1.0 + rates.chill_gain * np.exp(-chill_sum / rates.chill_scale_days)))


def crossing(heat: Floats, need: Floats) -> Floats:
    """Return the labels at which ``heat`` first reaches ``need``, interpolated inside the day.

    Parameters
    ----------
    heat : (n_traces, n_days) [degC d]
        Sums at the end of each day; never falling.
    need : (n_traces, ...) [degC d]

    Returns
    -------
    shape of ``need``
        Label, or inf where the sum never gets there.

    Source
    ------
    Linear interpolation between ends of days, as in the Harvard Forest check table of the tests.

    Examples
    --------
    >>> crossing(np.array([[0.0, 10.0, 30.0]]), np.array([[20.0, 31.0]]))
    array([[1.5, inf]])
    """
    index = np.stack([row.searchsorted(wanted) for row, wanted in zip(heat, need, strict=True)])
    inside = np.minimum(index, heat.shape[1] - 1)
    place = inside + _first_places(heat, need.ndim)
    before = np.where(inside > 0, heat.take(place - 1), 0.0)
    step = heat.take(place) - before
    part = np.divide(need - before, step, out=np.ones_like(step), where=step > 0)
    return np.where(index < heat.shape[1], inside - 1 + part, np.inf)


def _first_places(heat: Floats, ndim: int) -> NDArray[np.intp]:
    """Return where each trace begins in the flat sums, shaped to go with ``ndim`` dimensions."""
    return np.arange(0, heat.size, heat.shape[1]).reshape(-1, *(1,) * (ndim - 1))


def sum_at(heat: Floats, labels: Floats) -> Floats:
    """Return ``heat`` (n_traces, n_days) at ``labels`` (n_traces, ...), the inverse of `crossing`.

    Labels past the last day give the last sum; before the first day zero.

    Source: linear interpolation between ends of days.
    """
    since = np.clip(labels, -1.0, heat.shape[1] - 1.0) + 1.0
    day = np.minimum(np.floor(since), heat.shape[1] - 1.0)
    place = day.astype(np.intp) + _first_places(heat, labels.ndim)
    before = np.where(day > 0, heat.take(place - 1), 0.0)
    return np.asarray(before + (heat.take(place) - before) * (since - day))


def has_winter(chill_sum: Floats, day_length_h: Floats) -> NDArray[np.bool_]:
    """Tell where a temperate profile may predict a spring.

    False where chill up to the candidate date, ``chill_sum`` [d], is under 15 days, and everywhere if
    day length over the year, ``day_length_h`` [h], varies by less than an hour.

    Source: estimate, see the constants of this module.
    """
    varies = float(np.ptp(day_length_h)) >= NO_WINTER_DAY_LENGTH_RANGE_H
    return np.asarray((chill_sum >= NO_WINTER_CHILL_DAYS) & varies)


def first_day(hit: NDArray[np.bool_], start: int, stop: int) -> Floats:
    """Return the label of the first True of each row (n_traces, n_days) in [start, stop), else inf.

    Source: a search; nothing is assumed.

    Examples
    --------
    >>> first_day(np.array([[True, False, True], [False, False, False]]), 1, 3)
    array([ 2., inf])
    """
    part = hit[:, max(start, 0) : max(stop, 0)]
    if part.shape[1] == 0:
        return np.full(hit.shape[0], np.inf)
    return np.where(part.any(axis=1), part.argmax(axis=1) + float(max(start, 0)), np.inf)


def last_day(hit: NDArray[np.bool_], start: int, stop: int) -> Floats:
    """Return the label of the last True of each row (n_traces, n_days) in [start, stop), else inf.

    Source: a search; nothing is assumed.

    Examples
    --------
    >>> last_day(np.array([[True, True, False]]), 0, 3)
    array([1.])
    """
    mirrored = first_day(hit[:, ::-1], hit.shape[1] - stop, hit.shape[1] - max(start, 0))
    return np.where(np.isfinite(mirrored), hit.shape[1] - 1 - mirrored, np.inf)


def falls_below(curve: Floats, level: float, start: int, stop: int) -> float:
    """Return the label of the first day in [start, stop) on which a falling ``curve`` (n_days,) is at or below ``level``.

    ``inf`` where it is not above the level at ``start``, or never falls to it: a threshold that was
    never left behind is not crossed.

    Source: a search; nothing is assumed.
    """
    if curve[start] <= level:
        return float("inf")
    return float(first_day((curve <= level)[None, :], start, stop)[0])


def rises_above(curve: Floats, level: float, start: int, stop: int) -> float:
    """Return the label of the first day in [start, stop) on which ``curve`` (n_days,) is at or above ``level``.

    ``inf`` where it is so at ``start`` already, or never: a threshold that was always behind is not crossed.

    Source: a search; nothing is assumed.
    """
    return falls_below(-curve, -level, start, stop)


def centred_mean(values: Floats, days: int) -> Floats:
    """Return the mean over a centred window of ``days`` of a curve (n_days,); the ends repeat their last value.

    Source: a moving average; nothing is assumed.

    Examples
    --------
    >>> centred_mean(np.array([0.0, 3.0, 6.0]), 3)
    array([1., 3., 5.])
    """
    before = days // 2
    padded = np.pad(values, (before, days - 1 - before), mode="edge")
    return np.convolve(padded, np.full(days, 1.0 / days), mode="valid")


def trailing_mean(values: Floats, days: int) -> Floats:
    """Return the mean of the last ``days`` days along the last axis; the first days average what there is.

    Source: a moving average; nothing is assumed.

    Examples
    --------
    >>> trailing_mean(np.array([1.0, 3.0, 5.0]), 2)
    array([1., 2., 4.])
    """
    sums = np.cumsum(values, axis=-1)
    earlier = np.zeros_like(sums)
    earlier[..., days:] = sums[..., :-days] if days < sums.shape[-1] else 0.0
    counts = np.minimum(np.arange(1, values.shape[-1] + 1), days)
    return np.asarray((sums - earlier) / counts)
