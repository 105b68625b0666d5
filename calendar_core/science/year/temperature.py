"""Hourly temperature from the extremes of each day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from calendar_core.science.year.daylight import day_length_h

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

_LONGER_H = 4.0  # the day's half wave lasts this much longer than daylight: its peak comes 2 h after noon
_SHORTEST_NIGHT_H = (
    2.0  # the coded 1 h divides by its logarithm, zero; such nights exist near the polar circles
)


def hourly(t_min_c: ArrayLike, t_max_c: ArrayLike, latitude: float, day_of_year: ArrayLike) -> Floats:
    """Return the temperature at 0, 1, ... 23 h solar time of each day, day after day.

    By day a sine, by night a fall with the logarithm of the time since sunset. The first and the last day
    stand in for their missing neighbours; a day without sunrise or sunset has its mean at all hours. Just
    before sunrise the published formula passes the minimum by a few percent of the night's fall; it is kept.

    Parameters
    ----------
    t_min_c, t_max_c : (..., n_days) [degC]
    latitude : float
        Degrees, north positive.
    day_of_year : (n_days,)
        1 is 1 January.

    Returns
    -------
    (..., n_days * 24) [degC]

    Raises
    ------
    ValueError
        Where a minimum is above its maximum, or either is not a number.

    Source
    ------
    Linvill 1990, HortScience 25:14, as coded in the R package chillR 0.77.

    Examples
    --------
    >>> hourly([[2.0]], [[12.0]], 50.4, [61])[0, [7, 14]].round(3)
    array([ 3.003, 12.   ])
    """
    low, high = np.asarray(t_min_c, dtype=np.float64), np.asarray(t_max_c, dtype=np.float64)
    _refuse_crossed(low, high)
    length = day_length_h(latitude, day_of_year)[:, None]
    low, high = low[..., None], high[..., None]
    polar = (length == 0.0) | (length == 24.0)
    course = np.where(polar, (low + high) / 2.0, _course(low, high - low, length))
    return np.asarray(course.reshape(*course.shape[:-2], -1))


def _course(low: Floats, spread: Floats, length: Floats) -> Floats:
    """Return the 24 hours of days that have a sunrise and a sunset (..., n_days, 24)."""
    hour = np.arange(24.0)
    rise, down = 12.0 - length / 2.0, 12.0 + length / 2.0
    day = low + spread * np.sin(np.pi * (hour - rise) / (length + _LONGER_H))
    left = np.sin(np.pi * length / (length + _LONGER_H))  # share of the spread that is left at sunset
    dusk, last_dusk = low + spread * left, _last(low) + _last(spread) * left  # as coded: with today's length
    evening = dusk + (_next(low) - dusk) * _fallen(hour - down, 25.0 - down + _next(rise))
    # As coded, too: this denominator lacks the evening's one hour more.
    morning = last_dusk + (low - last_dusk) * _fallen(hour + 24.0 - _last(down), 24.0 - _last(down) + rise)
    return np.where(hour < rise, morning, np.where(hour > down, evening, day))


def _fallen(since_sunset_h: Floats, night_h: Floats) -> Floats:
    """Return the share of the night's fall that is over; 0 before sunset."""
    whole = np.log(np.maximum(night_h, _SHORTEST_NIGHT_H))
    return np.asarray(np.log(np.maximum(since_sunset_h, 0.0) + 1.0) / whole)


def _last(values: Floats) -> Floats:
    """Return what the day before has (..., n_days, 1); the first day stands in for it."""
    return np.concatenate([values[..., :1, :], values[..., :-1, :]], axis=-2)


def _next(values: Floats) -> Floats:
    """Return what the day after has (..., n_days, 1); the last day stands in for it."""
    return np.concatenate([values[..., 1:, :], values[..., -1:, :]], axis=-2)


def _refuse_crossed(t_min_c: Floats, t_max_c: Floats) -> None:
    wrong = ~(t_min_c <= t_max_c)  # also where either is not a number
    if wrong.any():
        place = tuple(int(i) for i in np.argwhere(wrong)[0])
        raise ValueError(
            f"t_min_c {t_min_c[place]} and t_max_c {t_max_c[place]} at {place}:"
            " right would be a minimum at or below its maximum"
        )
