"""Wind at the height of a bench, from the wind of a mast."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Numbers = float | NDArray[np.float64]

MAST_M = 10.0  # WMO-No. 8: the height at which wind is measured and forecast
LOWEST_M = 0.5  # estimate: below it the profile over grass of 12 cm says little


def wind_at(
    wind_ms: Numbers, height_m: Numbers, shelter: Numbers = 1.0, mast_m: Numbers = MAST_M
) -> NDArray[np.float64]:
    """Return wind [m/s] at ``height_m`` [m], times ``shelter``; the shapes broadcast.

    Parameters
    ----------
    wind_ms : [m/s]
        Wind at ``mast_m`` [m] over open ground.
    shelter : 0 to 1
        Share of the open ground's wind that hedges and walls let through.

    Source
    ------
    FAO-56 eq. 47, the logarithmic profile over short grass, for any two heights.

    Examples
    --------
    >>> round(float(wind_at(3.2, 2.0)), 1)
    2.4
    """
    return np.asarray(wind_ms * shelter * _profile(np.maximum(height_m, LOWEST_M)) / _profile(mast_m))


def _profile(height_m: Numbers) -> NDArray[np.float64]:
    return np.asarray(np.log(67.8 * height_m - 5.42))
