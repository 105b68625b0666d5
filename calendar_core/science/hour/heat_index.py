"""How hot the air feels to a person at rest in the shade."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Numbers = float | Floats


def heat_index_c(t_c: Numbers, humidity_percent: Numbers) -> Floats:
    """Return the heat index [degC] in shade and light wind; the shapes broadcast.

    The bands of the National Weather Service begin at 26.7 (caution), 32.2 (extreme caution), 39.4 (danger) and
    51.7 degC (extreme danger).

    Source: as `heat_index_f`.

    Examples
    --------
    >>> round(float(heat_index_c(35.6, 46.0)), 1)
    40.5
    """
    return (heat_index_f(1.8 * t_c + 32.0, humidity_percent) - 32.0) / 1.8


def heat_index_f(t_f: Numbers, humidity_percent: Numbers) -> Floats:
    """Return the heat index [degF] of air [degF]; the shapes broadcast.

    Source: National Weather Service, Weather Prediction Center, The Heat Index Equation, with its two adjustments.
    """
    t, rh = np.asarray(t_f, dtype=np.float64), np.asarray(humidity_percent, dtype=np.float64)
    mild = (0.5 * (t + 61.0 + 1.2 * (t - 68.0) + 0.094 * rh) + t) / 2.0
    return np.where(mild < 80.0, mild, _rothfusz(t, rh) - _dry(t, rh) + _damp(t, rh))


def _rothfusz(t: Floats, rh: Floats) -> Floats:
    return np.asarray(
        -42.379
        + 2.04901523 * t
        + 10.14333127 * rh
        - 0.22475541 * t * rh
        - 0.00683783 * t**2
        - 0.05481717 * rh**2
        + 0.00122874 * t**2 * rh
        + 0.00085282 * t * rh**2
        - 0.00000199 * t**2 * rh**2
    )


def _dry(t: Floats, rh: Floats) -> Floats:
    holds = (rh < 13.0) & (t >= 80.0) & (t <= 112.0)
    return np.where(holds, (13.0 - rh) / 4.0 * np.sqrt(np.maximum(17.0 - np.abs(t - 95.0), 0.0) / 17.0), 0.0)


def _damp(t: Floats, rh: Floats) -> Floats:
    holds = (rh > 85.0) & (t >= 80.0) & (t <= 87.0)
    return np.where(holds, (rh - 85.0) / 10.0 * (87.0 - t) / 5.0, 0.0)
