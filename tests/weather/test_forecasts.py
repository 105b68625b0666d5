"""Forecasts in traces: one member each, joined without a step, and nothing measured overwritten."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.weather.daily import DailySeries
from calendar_core.weather.forecasts import (
    BLEND_D,
    TRUSTED_AFTER_D,
    ForecastDays,
    as_hours,
    members_for,
    offset_of,
    set_right,
)
from calendar_core.weather.hourly import HourlySeries
from calendar_core.weather.sources.protocol import Cell, Forecast
from calendar_core.weather.traces import Traces, make_traces

if TYPE_CHECKING:
    from calendar_core.weather.daily import FloatArray
    from calendar_core.weather.hourly import Column

TODAY, END = date(2020, 3, 31), date(2021, 3, 31)
START = date(2019, 3, 1)


def station(years: int = 20, seed: int = 1) -> DailySeries:
    """An invented station whose last day is the day before TODAY."""
    first = date(TODAY.year - years, 1, 1)
    n = (TODAY - first).days
    wave = 10 - 10 * np.cos(2 * np.pi * (np.arange(n) - 20) / 365.25)
    mean = wave + np.random.default_rng(seed).normal(0, 3, n)
    return DailySeries(first, mean - 5, mean + 5)


def forecast(
    n_members: int = 50, *, days: int = 15, spread_c: float = 2.0, start: date = TODAY
) -> ForecastDays:
    """An invented forecast of members that differ."""
    mean = 30.0 + np.random.default_rng(2).normal(0, spread_c, (n_members, days))
    issued = datetime.combine(start, datetime.min.time(), UTC)
    return ForecastDays("invented", issued, start, mean - 4, mean + 4)


def made(measured: DailySeries, ahead: ForecastDays | None) -> Traces:
    return make_traces(measured, start=START, end=END, today=TODAY, place="made-up", seed=1, forecast=ahead)


def days(traces: Traces, first: date, n: int) -> FloatArray:
    at = (first - traces.start).days
    return traces.t_min_c[:, at : at + n]


def test_an_ensemble_of_identical_members_is_the_single_forecast() -> None:
    one = forecast(1)
    many = ForecastDays(
        one.source, one.issued, one.start, np.repeat(one.t_min_c, 50, 0), np.repeat(one.t_max_c, 50, 0)
    )
    assert np.array_equal(made(station(), one).t_min_c, made(station(), many).t_min_c)


def test_traces_do_not_multiply_and_each_holds_one_member() -> None:
    ahead = forecast(50)
    traces = made(station(), ahead)
    assert len(traces.t_min_c) == len(made(station(), None).t_min_c)
    whole = 15 - BLEND_D
    for row in days(traces, TODAY, whole):
        assert any(np.allclose(row, member[:whole]) for member in ahead.t_min_c)
    assert traces.known.forecast is not None
    assert (traces.known.forecast.members, traces.known.forecast.to) == (50, TODAY + timedelta(days=14))


def test_nothing_measured_is_overwritten_by_a_forecast() -> None:
    measured = station()
    ahead = forecast(start=TODAY - timedelta(days=3))
    before = days(made(measured, None), TODAY - timedelta(days=30), 30)
    assert np.array_equal(days(made(measured, ahead), TODAY - timedelta(days=30), 30), before)


@given(st.integers(16, 30))
def test_adding_a_year_never_changes_measured_days(years: int) -> None:
    fewer, more = made(station(years), forecast()), made(station(years + 1), forecast())
    first = START + timedelta(days=0)
    n = (TODAY - first).days
    # The stations differ by a year of invented noise, so each is held against its own days.
    for traces, measured in ((fewer, station(years)), (more, station(years + 1))):
        own = measured.window(first, TODAY - timedelta(days=1)).t_min_c
        assert np.array_equal(days(traces, first, n), np.broadcast_to(own, (len(traces.t_min_c), n)))


@given(st.permutations(list(range(1990, 2015))), st.integers(1, 60))
def test_which_member_a_year_gets_does_not_depend_on_the_order_of_years(years: list[int], n: int) -> None:
    ordered = dict(zip(range(1990, 2015), members_for(range(1990, 2015), n), strict=True))
    assert dict(zip(years, members_for(years, n), strict=True)) == ordered


@given(st.integers(1, 40), st.integers(1, 60))
def test_members_are_spread_evenly(n_traces: int, n_members: int) -> None:
    counts = np.bincount(members_for(range(n_traces), n_members), minlength=n_members)
    assert counts.max() - counts.min() <= 1


def test_the_station_sets_the_forecast_right_and_the_correction_fades() -> None:
    """Ten shared days on which the station reads 3 degC lower: two thirds of it are believed."""
    start = TODAY - timedelta(days=10)
    level = np.full((2, 40), 10.0)
    ahead = ForecastDays("invented", datetime(2020, 3, 30, tzinfo=UTC), start, level - 4, level + 4)
    measured = DailySeries(start, np.full(10, 3.0), np.full(10, 11.0))
    offset = offset_of(ahead, measured)
    assert offset.days == 10
    assert offset.t_min_c == pytest.approx(-3 * 10 / (10 + TRUSTED_AFTER_D))
    low = set_right(ahead, offset, TODAY).t_min_c[0]
    assert low[10] == pytest.approx(6 - 2)
    assert np.all(np.diff(low[10:]) > 0)
    assert low[-1] == pytest.approx(6, abs=0.2)


def test_a_forecast_gives_way_to_the_past_year_without_a_step() -> None:
    """The forecast lies 20 degC above the climate: its last days lead down in steps of a quarter."""
    ahead = ForecastDays(
        "invented", datetime(2020, 3, 31, tzinfo=UTC), TODAY, np.full((1, 15), 26.0), np.full((1, 15), 34.0)
    )
    with_it, without = made(station(), ahead), made(station(), None)
    gap = days(without, TODAY, 15) - 26.0
    left = (days(with_it, TODAY, 15) - 26.0) / gap
    assert left[:, : 15 - BLEND_D] == pytest.approx(0.0)
    assert left[0, 15 - BLEND_D :] == pytest.approx([0.25, 0.5, 0.75])


@pytest.mark.parametrize("days_old", [20, 40])
def test_a_forecast_that_is_over_changes_nothing(days_old: int) -> None:
    old = forecast(start=TODAY - timedelta(days=days_old))
    traces = made(station(), old)
    assert traces.known.forecast is None
    assert np.array_equal(traces.t_min_c, made(station(), None).t_min_c)


def test_a_run_of_a_later_day_is_not_seen() -> None:
    assert made(station(), forecast(start=TODAY + timedelta(days=1))).known.forecast is None


def test_days_that_a_member_lacks_come_from_past_years() -> None:
    ahead = forecast(3)
    ahead.t_min_c[:, 5] = np.nan
    traces, without = made(station(), ahead), made(station(), None)
    assert np.array_equal(
        days(traces, TODAY + timedelta(days=5), 1), days(without, TODAY + timedelta(days=5), 1)
    )
    assert np.isfinite(traces.t_min_c).all()


def test_hours_move_with_the_height_and_keep_their_humidity() -> None:
    """6.5 degC a kilometre (ISO 2533); the humidity that is left is held against Magnus' formula of WMO-No. 8."""
    t_c, dew_c = np.array([20.0, np.nan]), np.array([12.0, 5.0])
    columns: dict[Column, FloatArray] = {
        "t_c": t_c,
        "t_low_c": t_c - 2,
        "dew_point_c": dew_c,
        "wind_ms": t_c / 10,
    }
    start = datetime(2020, 10, 24, 22, tzinfo=UTC)
    run = Forecast("invented", start, Cell(47.4, 8.5, 900.0), (HourlySeries(start, columns),), "")
    same = as_hours(run, None)
    assert same.start == start
    np.testing.assert_array_equal(same["t_c"], t_c)
    lower = as_hours(run, 400.0)
    np.testing.assert_allclose(lower["t_c"], t_c + 3.25)
    np.testing.assert_allclose(lower["t_low_c"], t_c - 2 + 3.25)
    np.testing.assert_array_equal(lower["wind_ms"], t_c / 10)

    def humidity(dew: float, air: float) -> float:
        return float(np.exp(17.62 * dew / (243.12 + dew) - 17.62 * air / (243.12 + air)))

    before, after = humidity(12.0, 20.0), humidity(float(lower["dew_point_c"][0]), float(lower["t_c"][0]))
    assert after == pytest.approx(before, abs=0.01)
