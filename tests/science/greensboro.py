"""A year of real hours, from a file the pvlib package brings along."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pvlib  # type: ignore[import-untyped]

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

LATITUDE, LONGITUDE = 36.1, -79.95


@dataclass(frozen=True)
class Year:
    """8760 hours; ``middle`` is their middle [UTC], ``ends`` the local standard hour they end at."""

    middle: NDArray[np.datetime64]
    ends: NDArray[np.datetime64]
    t_c: Floats
    dew_point_c: Floats
    pressure_kpa: Floats
    wind_ms: Floats
    sunlight_w_m2: Floats
    diffuse_w_m2: Floats
    cloud_percent: Floats

    def at(self, month: int, day: int, hour: int) -> int:
        """Return the index of the hour that ends then."""
        wanted = np.datetime64(f"1990-{month:02}-{day:02}T{hour:02}:00", "s")
        return int(np.flatnonzero(self.ends == wanted)[0])


@cache
def greensboro() -> Year:
    """Return TMY3 723170TYA (Greensboro, North Carolina; National Solar Radiation Data Base), years coerced to 1990."""
    path = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    table, _ = pvlib.iotools.read_tmy3(path, coerce_year=1990, map_variables=True)
    names = ["temp_air", "temp_dew", "pressure", "wind_speed", "ghi", "dhi", "TotCld (tenths)"]
    t, dew, pressure, wind, total, diffuse, cloud = table[names].to_numpy(dtype=np.float64).T
    ends = table.index.tz_localize(None).to_numpy().astype("datetime64[s]")
    utc = table.index.tz_convert("UTC").tz_localize(None).to_numpy().astype("datetime64[s]")
    half_an_hour = np.timedelta64(30, "m")
    return Year(utc - half_an_hour, ends, t, dew, pressure / 10.0, wind, total, diffuse, 10.0 * cloud)
