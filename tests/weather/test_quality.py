"""The quality gate: faults as data."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.weather.daily import DailySeries
from calendar_core.weather.normals import daily_year
from calendar_core.weather.quality import check, is_missing_code, leave_out

if TYPE_CHECKING:
    from calendar_core.weather.normals import Normals


def changed(series: DailySeries, day: date, low: float, high: float) -> DailySeries:
    t_min, t_max = series.t_min_c.copy(), series.t_max_c.copy()
    at = (day - series.start).days
    t_min[at], t_max[at] = low, high
    return replace(series, t_min_c=t_min, t_max_c=t_max)


def test_the_seattle_file_passes(seattle: DailySeries, places: dict[str, Normals]) -> None:
    assert check(seattle, near=places["Seattle"]) == []


@pytest.mark.parametrize(
    ("low", "high", "code", "column"),
    [
        (20.0, 10.0, "swapped", "t_min"),
        (-95.0, 10.0, "outside limits", "t_min"),
        (10.0, 95.0, "outside limits", "t_max"),
        (10.0, 53.0, "spike", "t_max"),
        (-21.0, 22.0, "spike", "t_min"),
        (float("nan"), 22.0, "gap", "both"),
    ],
)
def test_one_bad_day_is_found_and_named(
    seattle: DailySeries, low: float, high: float, code: str, column: str
) -> None:
    day = date(2014, 6, 1)
    value = {"t_min": low, "t_max": high, "both": float("nan")}[column]
    found = check(changed(seattle, day, low, high))
    assert found[0].code == code
    assert (found[0].day, found[0].column, found[0].days) == (day, column, 1)
    assert found[0].value == pytest.approx(value, nan_ok=True)
    assert found[0].right


@given(st.integers(0, 1460), st.floats(-89, 56), st.floats(-89, 56))
def test_what_stays_after_the_gate_is_possible(at: int, low: float, high: float) -> None:
    # Whatever a thermometer may show on one day: either the file is refused or the day is kept or a gap.
    quiet = np.tile([9.0, 10.0, 11.0], 487)
    series = DailySeries(date(2012, 1, 1), quiet.copy(), quiet + 8)
    series.t_min_c[at], series.t_max_c[at] = low, high
    found = check(series)
    if not any(fault.fatal for fault in found):
        kept, _ = leave_out(series, found)
        assert np.all((kept.t_min_c <= kept.t_max_c) | ~kept.measured)
        assert not [fault for fault in check(kept) if fault.code in ("spike", "stuck")]


def test_world_records_are_weather() -> None:
    # World Meteorological Organization: 56.7 degC Furnace Creek 1913, -89.2 degC Vostok 1983.
    hot = DailySeries(date(1913, 7, 9), np.array([30.0, 33.0, 31.0]), np.array([53.0, 56.7, 54.0]))
    cold = DailySeries(date(1983, 7, 20), np.array([-85.0, -89.2, -84.0]), np.array([-75.0, -80.0, -76.0]))
    assert check(hot) == []
    assert check(cold) == []


@pytest.mark.parametrize("n", [19, 20])
def test_stuck_begins_with_the_twentieth_equal_value(seattle: DailySeries, n: int) -> None:
    low = seattle.t_min_c.copy()
    low[100 : 100 + n] = low[99] + 0.05
    found = [f for f in check(replace(seattle, t_min_c=low)) if f.code == "stuck"]
    assert [f.days for f in found] == ([20] if n == 20 else [])


def test_a_cold_place_is_no_wrong_unit(places: dict[str, Normals]) -> None:
    # Warmest month 5 degC, coldest -25 degC: the climate of an Arctic coast, in the right unit.
    polar = replace(places["Sapporo"], t_max_c=_wave(-22, 8), t_min_c=_wave(-28, 2))
    year = daily_year(polar)
    assert check(DailySeries(date(2012, 1, 1), year.t_min_c, year.t_max_c)) == []
    f = DailySeries(date(2012, 1, 1), year.t_min_c, year.t_max_c)
    assert check(f, declared="F") == []


@pytest.mark.parametrize("name", ["Kagoshima", "Chuncheon", "Lisle", "Melbourne", "Sapporo"])
def test_every_bundled_climate_in_the_wrong_unit_is_noticed(places: dict[str, Normals], name: str) -> None:
    year = daily_year(places[name])
    right = DailySeries(date(2012, 1, 1), year.t_min_c, year.t_max_c)
    f_as_c = replace(right, t_min_c=year.t_min_c * 1.8 + 32, t_max_c=year.t_max_c * 1.8 + 32)
    c_as_f = replace(right, t_min_c=(year.t_min_c - 32) / 1.8, t_max_c=(year.t_max_c - 32) / 1.8)
    assert [f.code for f in check(right, near=places[name])] == []
    assert [f.code for f in check(f_as_c)] == ["wrong unit"]
    assert [f.code for f in check(c_as_f, declared="F")] == ["wrong unit"]
    assert [f.code for f in check(c_as_f.window(date(2012, 5, 1), date(2012, 5, 20)), declared="F")] == []
    part = check(c_as_f.window(date(2012, 5, 1), date(2012, 5, 20)), declared="F", near=places[name])
    assert [f.code for f in part] == ["wrong unit"]


def test_a_mountain_far_colder_than_the_nearest_place_passes(places: dict[str, Normals]) -> None:
    year = daily_year(places["Nagano"])
    peak = DailySeries(date(2012, 1, 1), year.t_min_c - 16, year.t_max_c - 16)
    assert check(peak, near=places["Nagano"]) == []
    assert check(peak, declared="F", near=places["Nagano"]) == []


def test_codes_for_missing_are_not_weather() -> None:
    assert all(is_missing_code(v, "t_max") for v in (-999, -9999, 9999, -99.9))
    assert not any(is_missing_code(v, "t_max") for v in (-9.9, 0, 99, -89.2))


def _wave(coldest: float, warmest: float) -> tuple[float, ...]:
    half = (warmest - coldest) / 2
    return tuple(coldest + half - half * np.cos(2 * np.pi * m / 12) for m in range(12))
