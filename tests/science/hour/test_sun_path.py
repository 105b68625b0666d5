"""Where the sun stands, against the reference algorithm in pvlib (NREL SPA)."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pvlib  # type: ignore[import-untyped]
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.science.hour.sun_path import SOLAR_CONSTANT_W_M2, sun_path
from tests.oracles.sun_position import sun_position
from tests.oracles.tables import facts

# Instants that fall on every season and hour.
INSTANTS = pd.date_range("1990-01-01", "2040-01-01", freq="211h", tz="UTC")
TIMES = INSTANTS.tz_localize(None).to_numpy().astype("datetime64[s]")


@pytest.mark.parametrize(
    ("latitude", "longitude"), [(35.0, 135.8), (-37.8, 145.0), (69.6, 19.0), (-0.2, -78.5), (36.1, -80.0)]
)
def test_the_reference_algorithm(latitude: float, longitude: float) -> None:
    found = sun_path(latitude, longitude, TIMES)
    reference = pvlib.solarposition.spa_python(INSTANTS, latitude, longitude)
    elevation, azimuth = reference["elevation"].to_numpy(), reference["azimuth"].to_numpy()
    assert np.abs(found.elevation_deg - elevation).max() < 0.02
    # On the sky: near the zenith an azimuth says little.
    apart = (found.azimuth_deg - azimuth + 180.0) % 360.0 - 180.0
    assert np.abs(apart * np.cos(np.radians(elevation))).max() < 0.02
    beyond = pvlib.irradiance.get_extra_radiation(INSTANTS, solar_constant=SOLAR_CONSTANT_W_M2, method="nrel")
    top = beyond.to_numpy() * np.maximum(np.sin(np.radians(elevation)), 0.0)
    assert found.top_w_m2 == pytest.approx(top, abs=0.6)


def test_the_one_of_sunrise_lifted_by_refraction() -> None:
    # sun_position is the NOAA calculator's, with refraction: nothing to speak of above 15 degrees.
    instants = [at.to_pydatetime() for at in INSTANTS[:400]]
    elevation, azimuth = sun_position(48.0, 9.0, instants)
    found = sun_path(48.0, 9.0, TIMES[:400])
    high = elevation > 15.0
    assert np.abs(found.elevation_deg - elevation)[high].max() < 0.08
    assert np.abs(found.azimuth_deg - azimuth)[high].max() < 0.08


def test_height_at_noon_as_the_reference_prints_it() -> None:
    for place, latitude, longitude, day, elevation, clock, zone in facts("sun.toml")["noon"]["rows"]:
        noon = datetime.combine(day, clock, ZoneInfo(zone)).astimezone(UTC).replace(tzinfo=None)
        found = sun_path(latitude, longitude, np.array([noon], dtype="datetime64[s]"))
        # What is printed is apparent: refraction lifts a sun at 14 degrees by 0.06 (Bennett 1982), a high one by less.
        assert found.elevation_deg[0] == pytest.approx(
            elevation - 0.0167 / np.tan(np.radians(elevation)), abs=0.02
        ), place
        # The clock time is printed to the minute, in which a high sun turns by a degree or so.
        toward = 180.0 if latitude > 0 else 0.0
        assert abs((found.azimuth_deg[0] - toward + 180.0) % 360.0 - 180.0) < 1.5, place


@given(st.floats(-60.0, 60.0), st.integers(0, 364))
def test_places_and_instants_broadcast(latitude: float, day: int) -> None:
    hours = np.datetime64("2024-01-01", "s") + np.arange(24) * np.timedelta64(1, "h")
    days = hours + np.timedelta64(day, "D")
    both = sun_path(np.array([[latitude], [-latitude]]), 10.0, days)
    assert both.elevation_deg.shape == (2, 24)
    assert both.top_w_m2[0] == pytest.approx(sun_path(latitude, 10.0, days).top_w_m2)
    assert np.all((both.top_w_m2 > 0) == (both.elevation_deg > 0))
