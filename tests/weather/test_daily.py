"""The daily table: cutting, windows, gaps, calendar slots."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.weather.daily import DailySeries, fill_short_gaps, runs, years_and_slots

days = st.dates(date(1900, 1, 1), date(2100, 12, 31))
values = st.lists(st.one_of(st.floats(-40, 40), st.just(float("nan"))), min_size=1, max_size=60)


def series_of(start: date, low: list[float]) -> DailySeries:
    t_min = np.array(low, dtype=float)
    return DailySeries(start, t_min, t_min + 8)


@given(days)
def test_slot_is_the_day_of_a_leap_year(day: date) -> None:
    # Against the standard library: the same month and day in the leap year 2012.
    year, slot = years_and_slots(day, 1)
    assert year[0] == day.year
    assert slot[0] == date(2012, day.month, day.day).timetuple().tm_yday - 1


@given(days, values, st.integers(-5, 70))
def test_until_keeps_the_days_up_to_today_and_no_other(start: date, low: list[float], ahead: int) -> None:
    series = series_of(start, low)
    cut = series.until(start + timedelta(days=ahead))
    kept = min(max(ahead + 1, 0), len(low))
    assert len(cut) == kept
    np.testing.assert_array_equal(cut.t_min_c, series.t_min_c[:kept])
    np.testing.assert_array_equal(cut.t_max_c, series.t_max_c[:kept])


@given(days, values, st.integers(-70, 70), st.integers(0, 140))
def test_window_holds_each_day_once_and_nan_elsewhere(
    start: date, low: list[float], first: int, n: int
) -> None:
    series = series_of(start, low)
    window = series.window(start + timedelta(days=first), start + timedelta(days=first + n - 1))
    assert len(window) == n
    expected = [low[i] if 0 <= i < len(low) else float("nan") for i in range(first, first + n)]
    np.testing.assert_array_equal(window.t_min_c, np.array(expected, dtype=float))


def test_window_of_the_whole_series_is_the_series(seattle: DailySeries) -> None:
    same = seattle.window(seattle.start, seattle.end)
    np.testing.assert_array_equal(same.t_max_c, seattle.t_max_c)


def test_coverage_and_last_measured_day_ask_for_both_values() -> None:
    nan = float("nan")
    series = DailySeries(date(2015, 1, 1), np.array([1.0, nan, 3.0, 4.0]), np.array([5.0, 6.0, 7.0, nan]))
    assert series.coverage == 0.5
    assert series.measured_to == date(2015, 1, 3)
    assert series.t_mean_c[0] == 3.0
    assert series.end == date(2015, 1, 4)


def test_an_empty_series_knows_nothing() -> None:
    series = DailySeries(date(2015, 1, 1), np.empty(0), np.empty(0))
    assert series.coverage == 0.0
    assert series.measured_to is None
    assert series.end == date(2014, 12, 31)


def test_unequal_arrays_are_refused() -> None:
    with pytest.raises(ValueError, match="right would be"):
        DailySeries(date(2015, 1, 1), np.zeros(3), np.zeros(4))


@given(st.lists(st.booleans(), max_size=50))
def test_runs_cover_exactly_the_true_places(mask: list[bool]) -> None:
    first, length = runs(np.array(mask, dtype=bool))
    covered = {i for begin, n in zip(first, length, strict=True) for i in range(begin, begin + n)}
    assert covered == {i for i, true in enumerate(mask) if true}


@given(st.integers(1, 9))
def test_gaps_of_up_to_five_days_become_a_straight_line(gap: int) -> None:
    low = [0.0, *[float("nan")] * gap, float(gap + 1)]
    filled = fill_short_gaps(series_of(date(2015, 3, 1), low))
    if gap <= 5:
        np.testing.assert_allclose(filled.t_min_c, np.arange(gap + 2.0))
        np.testing.assert_allclose(filled.t_max_c, np.arange(gap + 2.0) + 8)
    else:
        assert np.isnan(filled.t_min_c[1:-1]).all()


@given(days, values)
def test_filling_alters_no_measured_day_and_no_end(start: date, low: list[float]) -> None:
    series = series_of(start, low)
    filled = fill_short_gaps(series)
    ok = series.measured
    np.testing.assert_array_equal(filled.t_min_c[ok], series.t_min_c[ok])
    known = np.flatnonzero(ok)
    if known.size:
        assert not filled.measured[: known[0]].any()
        assert not filled.measured[known[-1] + 1 :].any()


def test_a_day_with_one_value_is_bridged_in_both() -> None:
    low, high = np.array([0.0, 9.0, 2.0]), np.array([10.0, float("nan"), 12.0])
    filled = fill_short_gaps(DailySeries(date(2015, 3, 1), low, high))
    assert filled.t_min_c[1] == 1.0
    assert filled.t_max_c[1] == 11.0
