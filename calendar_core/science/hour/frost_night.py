"""The lowest temperature of a clear, calm night, from what is known two hours after sunset."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Numbers = float | Floats

MAX_WIND_MS = 2.0  # Snyder & Melo-Abreu 2005: windier nights are mixed, and cool less than this says
MIN_NIGHTS = 3  # two lines through fewer points fit anything


@dataclass(frozen=True, slots=True)
class FrostNight:
    """A place's own rule: minimum = slope_t x T0 + slope_dew x dew point + intercept [degC]."""

    slope_t: float
    slope_dew: float
    intercept_c: float

    def minimum_c(self, t_c: Numbers, dew_point_c: Numbers) -> Floats:
        """Return the night's minimum [degC] from air and dew point 2 h after sunset [degC]; the shapes broadcast.

        Source: Snyder & Melo-Abreu 2005, as `fit_frost_night`.
        """
        return np.asarray(self.slope_t * t_c + self.slope_dew * dew_point_c + self.intercept_c)


def fit_frost_night(t_c: Floats, dew_point_c: Floats, t_min_c: Floats) -> FrostNight:
    """Return the rule of a place from its own frost nights.

    Only nights without cloud, fog or rain and with wind below `MAX_WIND_MS` belong here.

    Parameters
    ----------
    t_c, dew_point_c : (n_nights,) [degC]
        Two hours after sunset.
    t_min_c : (n_nights,) [degC]

    Raises
    ------
    ValueError
        With fewer than three nights.

    Source
    ------
    Snyder & Melo-Abreu 2005, Frost Protection, FAO, volume 1 chapter 5: a line on temperature, then a line of what it
    leaves on the dew point.
    """
    if len(t_c) < MIN_NIGHTS:
        raise ValueError(f"found {len(t_c)} nights; right would be {MIN_NIGHTS} or more")
    slope_t, first = _line(t_c, t_min_c)
    slope_dew, second = _line(dew_point_c, t_min_c - slope_t * t_c - first)
    return FrostNight(slope_t, slope_dew, first + second)


def _line(x: Floats, y: Floats) -> tuple[float, float]:
    """Return slope and intercept of the least squares line."""
    slope, intercept = np.polynomial.Polynomial.fit(x, y, 1).convert().coef[::-1]
    return float(slope), float(intercept)
