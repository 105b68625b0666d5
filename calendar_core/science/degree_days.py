"""Degree-days of the daily mean."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def degree_days(t_mean_c: NDArray[np.float64], base_c: float) -> NDArray[np.float64]:
    """Return daily max(0, T - base) [degC d], shape of ``t_mean_c``: the floor comes last.

    Source: McMaster & Wilhelm 1997, Agric. For. Meteorol. 87:291, interpretation 1.

    Examples
    --------
    >>> degree_days(np.array([15.0, 3.0]), 10.0)
    array([5., 0.])
    """
    return np.asarray(np.maximum(0.0, t_mean_c - base_c))
