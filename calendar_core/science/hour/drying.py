"""The water a tree takes from its pot."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Numbers = float | Floats


def crown_m2(diameter_m: Numbers) -> Floats:
    """Return the ground a round crown covers [m2], shape of ``diameter_m``.

    Source: area of a circle.
    """
    return np.asarray(np.pi / 4.0 * diameter_m**2)


def demand_l(reference_mm: Numbers, crop_coefficient: Numbers, area_m2: Numbers) -> Floats:
    """Return the water a tree takes [L], by the step of ``reference_mm``; the shapes broadcast.

    Parameters
    ----------
    reference_mm : as `evaporation.hourly_mm` or `evaporation.daily_mm`
        At the spot: with its own sun and wind.
    crop_coefficient : 0 or more
        Of the tree against grass: leafless about 0.2, in full leaf 1, a single crown in wind up to 2 (from memory).
    area_m2 : [m2]
        As `crown_m2`.

    Source
    ------
    FAO-56 eq. 56; 1 mm on 1 m2 is 1 L.

    Examples
    --------
    >>> round(float(demand_l(6.3, 1.0, crown_m2(0.3))), 2)
    0.45
    """
    return np.asarray(reference_mm * crop_coefficient * area_m2)
