"""The real Seattle file and an invented long series, shared by the tests of this room."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from calendar_core.weather.daily import DailySeries
from calendar_core.weather.normals import Normals, read_normals
from calendar_core.weather.sources.csv_daily import DailyFile, parse_daily_csv

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def seattle_text() -> str:
    return (ROOT / "demo" / "seattle-weather.csv").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def seattle_file(seattle_text: str) -> DailyFile:
    return parse_daily_csv(seattle_text, file="seattle-weather.csv")


@pytest.fixture(scope="session")
def seattle(seattle_file: DailyFile) -> DailySeries:
    return seattle_file.series


@pytest.fixture(scope="session")
def places() -> dict[str, Normals]:
    text = (ROOT / "config" / "normals.csv").read_text(encoding="utf-8")
    return {place.place: place for place in read_normals(text)}


@pytest.fixture(scope="session")
def long_series() -> DailySeries:
    """Twenty invented years, 1996 to 2015, of a place with cold winters."""
    start, end = date(1996, 1, 1), date(2015, 12, 31)
    n = (end - start).days + 1
    noise = np.random.default_rng(7).normal(0, 3, n)
    mean = 11 - 12 * np.cos(2 * np.pi * (np.arange(n) - 20) / 365.25) + noise
    return DailySeries(start, mean - 4, mean + 5)
