"""Which kind a weather file is, and its days. Forms of station records: see test_ghcn.py; values invented."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from calendar_core.weather.daily import DailySeries
from calendar_core.weather.sources.files import WeatherFile, parse_file
from calendar_core.weather.sources.ghcn import CREDIT

ZONE = ZoneInfo("Europe/Berlin")
STATION = "CA001100120"


def read(text: str, **more: object) -> WeatherFile:
    return parse_file(text, file="mine", zone=ZONE, **more)  # type: ignore[arg-type]


def hours(header: str = "time,temperature", n: int = 72) -> str:
    start = datetime(2024, 6, 1)  # noqa: DTZ001 - as a logger writes it, at the garden's clock
    lines = [f"{start + timedelta(hours=h):%Y-%m-%d %H:%M},{15 + (h % 24) / 2}" for h in range(n)]
    return "\n".join([header, *lines]) + "\n"


@pytest.mark.parametrize(
    "text",
    [
        f"{STATION},20240131,TMAX,61,,,7,\n{STATION},20240131,TMIN,-15,,,7,\n",
        f"ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n{STATION},20240131,TMAX,61,,,7,\n{STATION},20240131,TMIN,-15,,,7,\n",
        f'"STATION","DATE","NAME","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"\n"{STATION}","2024-01-31","HILL","   61",",,C","  -15",",,C"\n',
        "".join(f"{STATION}202401{element}" + "-9999   " * 30 + f"{value:5}  C\n" for element, value in (("TMAX", 61), ("TMIN", -15))),
    ],
    ids=["by station", "by station with header", "wide", "dly"],
)  # fmt: skip
def test_a_station_record_is_known_by_its_first_line(text: str) -> None:
    found = read(text)
    assert (found.station, found.credit) == (STATION, CREDIT)
    at = (date(2024, 1, 31) - found.series.start).days
    assert (found.series.t_min_c[at], found.series.t_max_c[at]) == (-1.5, 6.1)


def test_hours_become_days_of_the_garden() -> None:
    found = read(hours())
    assert found.series.start == date(2024, 6, 1)
    assert found.series.t_min_c.tolist() == [15.0, 15.0, 15.0]
    assert found.series.t_max_c.tolist() == [26.5, 26.5, 26.5]


@pytest.mark.parametrize(
    ("header", "columns", "starts"),
    [
        ("date,t_min,t_max", {}, "daily"),
        ("when,low,high", {"date": "when", "t_min": "low", "t_max": "high"}, "daily"),
        ("timestamp,temp", {}, "hourly"),
        ("when,balcony", {"time": "when", "temperature": "balcony"}, "hourly"),
    ],
)
def test_lowest_and_highest_make_it_daily(header: str, columns: dict[str, str], starts: str) -> None:
    daily = f"{header}\n2024-06-01,10,20\n2024-06-02,11,21\n"
    text = daily if starts == "daily" else hours(header)
    assert len(read(text, columns=columns).series) == (2 if starts == "daily" else 3)


def test_a_day_far_from_the_other_source_is_left_out_with_its_reason() -> None:
    # Durre et al. 2010: 10 degC beyond the usual difference; here the own thermometer reads 2 degC more.
    n, odd = 60, 40
    level = 10 + 5 * np.sin(np.arange(n) / 3)
    other = DailySeries(date(2024, 4, 1), level - 5, level + 5)
    mine = [(level[i] - 3, level[i] + 7 + (13 if i == odd else 0)) for i in range(n)]
    lines = [f"{other.start + timedelta(days=i)},{low:.1f},{high:.1f}" for i, (low, high) in enumerate(mine)]
    text = "date,t_min,t_max\n" + "\n".join(lines) + "\n"
    assert not read(text).rejected
    found = read(text, other=other)
    assert [(one.when, one.column) for one in found.rejected] == [
        (other.start + timedelta(days=odd), "t_max")
    ]
    assert np.isnan(found.series.t_max_c[odd])
    assert found.series.measured.sum() == n - 1
    assert "far from what the weather service has" in found.notes[0]


def test_another_source_of_other_days_says_nothing() -> None:
    other = DailySeries(date(1990, 1, 1), np.full(40, -40.0), np.full(40, -30.0))
    assert len(read("date,t_min,t_max\n2024-06-01,10,20\n", other=other).series) == 1
