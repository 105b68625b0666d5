"""The gate for hours: on New York's airports, at the published thresholds, and beside another source."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.weather.daily import DailySeries, FloatArray
from calendar_core.weather.hourly import HOUR, Column, HourlySeries, days_of
from calendar_core.weather.quality import Rejected, check, leave_out
from calendar_core.weather.quality_hourly import check_hourly, without
from tests.oracles.tables import rows

START = datetime(2024, 1, 10, tzinfo=UTC)
FALSE = datetime(2013, 5, 9, 2, tzinfo=UTC)


def series(*values: float, column: Column = "t_c", start: datetime = START) -> HourlySeries:
    return HourlySeries(start, {column: np.array(values, dtype=np.float64)})


def rejected_at(found: list[Rejected], hourly: HourlySeries) -> list[int]:
    whens = [value.when for value in found]
    return [(when - hourly.start) // HOUR for when in whens if isinstance(when, datetime)]


def wave(n: int, mean: float = 12.0) -> FloatArray:
    """An invented quiet day and night, to tenths."""
    return np.round(mean + 4 * np.sin(2 * np.pi * np.arange(n) / 24), 1) + 0.1 * (np.arange(n) // 24 % 2)


@pytest.fixture(scope="module")
def airports() -> dict[str, HourlySeries]:
    """JFK and La Guardia in 2013, unknown between the hours of the file."""
    table = rows("jfk-2013.csv")
    when = [datetime.fromisoformat(row["time"]) for row in table]
    at = [(moment - when[0]) // HOUR for moment in when]
    out = {}
    for name in ("jfk", "lga"):
        values = np.full(at[-1] + 1, np.nan)
        values[at] = [(float(row[f"{name}_t_f"]) - 32) / 1.8 for row in table]
        out[name] = HourlySeries(when[0], {"t_c": values})
    return out


def test_the_false_frost_of_jfk_is_caught_and_nothing_else(airports: dict[str, HourlySeries]) -> None:
    (found,) = check_hourly(airports["jfk"])
    assert (found.when, found.column) == (FALSE, "t_c")
    assert found.value == pytest.approx(-10.5)
    assert found.reason.startswith("spike")
    assert check_hourly(airports["lga"]) == []


def test_the_true_frosts_of_jfk_are_kept(airports: dict[str, HourlySeries]) -> None:
    jfk = airports["jfk"]
    kept = without(jfk, check_hourly(jfk))
    frost_before, frost_after = (np.nansum(hourly["t_c"] <= 0) for hourly in (jfk, kept))
    assert frost_after == frost_before - 1
    zone = ZoneInfo("America/New_York")
    for hourly, last_frost in ((jfk, date(2013, 5, 8)), (kept, date(2013, 3, 22))):
        days = days_of(hourly, zone).series
        freezing = np.flatnonzero(days.t_min_c <= 0)
        assert days.start + timedelta(days=int(freezing[-1])) == last_frost
    assert np.nanmin(kept["t_c"]) == pytest.approx((12.02 - 32) / 1.8)


def test_beside_the_other_airport_it_is_caught_however_long_it_lasts(
    airports: dict[str, HourlySeries],
) -> None:
    # Five hours in a row, which no spike is; a neighbour's false hour takes nothing from the good record.
    jfk, lga = airports["jfk"], airports["lga"]
    at = (FALSE - jfk.start) // HOUR
    long = jfk["t_c"].copy()
    long[at : at + 5] = -10.5
    stayed = HourlySeries(jfk.start, {"t_c": long})
    assert check_hourly(stayed) == []
    found = check_hourly(stayed, other=lga)
    assert rejected_at(found, stayed) == [at, at + 1, at + 2, at + 3, at + 4]
    assert all(value.reason.startswith("other source") for value in found)
    assert check_hourly(lga, other=jfk) == []


# WMO-No. 305 (1993), p. VI.21: 4, 7, 9, 15 and 25 degC within 1, 2, 3, 6 and 12 hours.
@pytest.mark.parametrize(("apart_h", "tolerated"), [(1, 7.0), (3, 15.0), (6, 25.0)])
@pytest.mark.parametrize("sign", [1, -1])
def test_a_spike_exceeds_what_is_tolerated_between_its_neighbours(
    apart_h: int, tolerated: float, sign: int
) -> None:
    gap = [np.nan] * (apart_h - 1)
    at = 2 * apart_h
    for off, expected in ((tolerated - 0.1, []), (tolerated + 0.1, [at])):
        hourly = series(10, *gap, 11, *gap, (10.5 + sign * (off + 0.5)), *gap, 10, *gap, 11)
        assert rejected_at(check_hourly(hourly), hourly) == expected


def test_neighbours_too_far_away_say_nothing() -> None:
    gap = [np.nan] * 6
    assert check_hourly(series(10, *gap, 50, *gap, 10)) == []


@pytest.mark.parametrize(("n", "caught"), [(1, True), (2, True), (3, True), (4, False)])
def test_up_to_three_values_are_a_spike_together(n: int, caught: bool) -> None:
    hourly = series(10, 11, *[40.0 + k for k in range(n)], 12, 11)
    assert rejected_at(check_hourly(hourly), hourly) == (list(range(2, 2 + n)) if caught else [])


def test_a_front_is_weather() -> None:
    # 43 degC to 30 degC within the hour as a cold front comes (invented, of the size seen in Sydney).
    assert check_hourly(series(41, 42, 43, 30, 27, 26, 25)) == []


# HadISD's check of repeated streaks: 24 values in tenths, 30 in halves, 40 in whole degrees.
@pytest.mark.parametrize(("resolution", "most"), [(0.1, 24), (0.5, 30), (1.0, 40)])
def test_equal_values_are_stuck_from_so_many_on(resolution: float, most: int) -> None:
    varied = resolution * np.arange(-30, 30)
    for n, expected in ((most - 1, 0), (most, most)):
        hourly = series(*varied, *[30.5 * resolution] * n, *varied[::-1])
        found = check_hourly(hourly)
        assert len(found) == expected
        assert all(value.reason.startswith("stuck") for value in found)


def test_a_gap_does_not_loosen_a_stuck_sensor() -> None:
    hourly = series(*wave(24), *[8.15] * 12, np.nan, *[8.15] * 12, *wave(24))
    assert rejected_at(check_hourly(hourly), hourly) == [*range(24, 36), *range(37, 49)]


@pytest.mark.parametrize(
    ("column", "good", "bad"),
    [
        ("t_c", (-89.2, 56.7), (-90.1, 57.1)),  # WMO, archive of extremes
        ("humidity_percent", (0, 100), (-1, 105)),
        ("cloud_percent", (0, 100), (-1, 101)),
        ("wind_ms", (0, 40), (-0.1, 114)),
        ("gust_ms", (0, 113.3), (-0.1, 114)),  # Barrow Island 1996
        ("radiation_w_m2", (0, 1360), (-1, 1400)),
        ("precipitation_mm", (0, 305), (-0.2, 306)),  # Holt 1947
        ("dew_point_c", (-60, 35), (-91, 58)),
    ],
)
def test_limits_are_what_has_been_measured(
    column: Column, good: tuple[float, ...], bad: tuple[float, ...]
) -> None:
    assert check_hourly(series(*good, column=column)) == []
    hourly = series(*bad, np.nan, column=column)
    found = check_hourly(hourly)
    assert [value.value for value in found] == list(bad)
    assert {value.column for value in found} == {column}
    assert np.isnan(without(hourly, found)[column]).all()


@given(
    st.lists(st.floats(-150, 150) | st.just(float("nan")), max_size=60),
    st.lists(st.floats(-150, 150) | st.just(float("nan")), max_size=60),
)
def test_what_is_not_rejected_is_untouched_and_possible(values: list[float], others: list[float]) -> None:
    hourly = series(*values)
    found = check_hourly(hourly, other=series(*others, start=START - 3 * HOUR))
    kept = without(hourly, found)
    at = rejected_at(found, hourly)
    assert len(set(at)) == len(at)
    untouched = np.delete(np.arange(len(hourly)), at)
    np.testing.assert_array_equal(kept["t_c"][untouched], hourly["t_c"][untouched])
    assert np.isnan(kept["t_c"][at]).all()
    assert not np.any((kept["t_c"] < -90) | (kept["t_c"] > 57))
    assert [value.value for value in found] == [values[k] for k in at]


def test_a_place_that_is_always_colder_is_no_fault() -> None:
    garden, service = series(*wave(96, mean=2)), series(*wave(96, mean=14))
    assert check_hourly(garden, other=service) == []


def test_a_front_that_comes_an_hour_later_there_is_no_fault() -> None:
    here, there = wave(48), wave(48)
    here[30:] -= 15
    there[31:] -= 15
    assert check_hourly(series(*here), other=series(*there)) == []


@pytest.mark.parametrize(("common", "caught"), [(24, True), (23, False)])
def test_the_other_source_needs_a_day_in_common(common: int, caught: bool) -> None:
    values = wave(48)
    values[10:15] += 12
    other = series(*wave(48)[:common])
    assert bool(check_hourly(series(*values), other=other)) is caught


def test_days_without_what_is_at_fault() -> None:
    low = np.array([1.0, 2.0, 20.0, 3.0, -40.0, 2.0, 1.0])
    high = np.array([9.0, 8.0, 7.0, 9.0, 10.0, np.nan, 70.0])
    days = DailySeries(date(2024, 3, 1), low.copy(), high.copy())
    kept, rejected = leave_out(days, check(days))
    assert {(value.when, value.column, value.value) for value in rejected} == {
        (date(2024, 3, 7), "t_max", 70.0),
        (date(2024, 3, 3), "t_min", 20.0),
        (date(2024, 3, 3), "t_max", 7.0),
        (date(2024, 3, 5), "t_min", -40.0),
    }
    np.testing.assert_array_equal(kept.t_min_c, [1, 2, np.nan, 3, np.nan, 2, 1])
    np.testing.assert_array_equal(kept.t_max_c, [9, 8, np.nan, 9, 10, np.nan, np.nan])
    np.testing.assert_array_equal(days.t_min_c, low)
    assert all(": right would be" in value.reason for value in rejected)
