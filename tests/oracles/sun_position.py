"""Where the sun stands by another algorithm than the program's own."""

from __future__ import annotations

from datetime import UTC
from typing import TYPE_CHECKING

import numpy as np
from astral import Observer
from astral.sun import zenith_and_azimuth

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from numpy.typing import NDArray


def sun_position(
    latitude: float, longitude: float, instants: Sequence[datetime]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return elevation above the horizon, refraction included, and azimuth from north (n,) [deg].

    Source: astral, after the NOAA solar calculator.
    """
    observer = Observer(latitude, longitude, 0.0)
    seen = [zenith_and_azimuth(observer, instant.astimezone(UTC)) for instant in instants]
    zenith_deg, azimuth_deg = np.array(seen, dtype=np.float64).reshape(-1, 2).T
    return 90.0 - zenith_deg, azimuth_deg
