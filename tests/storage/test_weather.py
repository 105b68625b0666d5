"""Days of weather: gaps stay gaps, newer values win, nothing is lost."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING
from uuid import uuid4

import numpy as np
import pytest
from sqlalchemy import select

from calendar_core.storage import weather
from calendar_core.storage.errors import StoreError
from calendar_core.storage.schema.tables import weather_day

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from calendar_core.storage.engine import Store

NAN = float("nan")
START = date(2016, 2, 27)  # three days later is 1 March, 2016 being a leap year


@pytest.fixture
def series(store: Store) -> weather.WeatherSeries:
    made = weather.WeatherSeries(
        uuid4(), "logger", "1", "Court", 47.45, -122.31, 130.0, "measured", "by the owner"
    )
    with store.begin() as connection:
        return weather.save_series(connection, made)


def days_of(connection: Connection, series: weather.WeatherSeries) -> weather.Days:
    found = weather.load_days(connection, series.id)
    assert found is not None
    return found


def test_a_series_is_known_by_source_station_and_kind(store: Store, series: weather.WeatherSeries) -> None:
    renewed = replace(series, id=uuid4(), place="Court, north side", credit="")
    normals = replace(series, id=uuid4(), kind="normals")
    with store.begin() as connection:
        assert weather.save_series(connection, renewed) == replace(renewed, id=series.id)
        assert weather.save_series(connection, normals) == normals
    with store.read() as connection:
        assert weather.list_series(connection) == (replace(renewed, id=series.id), normals)
        assert weather.get_series(connection, normals.id) == normals
        with pytest.raises(StoreError, match="import weather first"):
            weather.get_series(connection, uuid4())


def test_gaps_come_back_as_gaps(store: Store, series: weather.WeatherSeries) -> None:
    low = np.array([NAN, 1.25, NAN, -3.5, NAN, NAN])
    high = np.array([NAN, 9.0, NAN, NAN, 8.0, NAN])
    with store.begin() as connection:
        assert weather.store_days(connection, series.id, START, low, high) == 3
    with store.read() as connection:
        start, t_min_c, t_max_c = days_of(connection, series)
    assert start == date(2016, 2, 28)
    np.testing.assert_array_equal(t_min_c, low[1:5])
    np.testing.assert_array_equal(t_max_c, high[1:5])


def test_newer_values_win_and_gaps_do_not(store: Store, series: weather.WeatherSeries) -> None:
    rain = np.array([0.0, 2.5, NAN])
    with store.begin() as connection:
        weather.store_days(
            connection,
            series.id,
            START,
            np.array([1.0, 2.0, 3.0]),
            np.array([11.0, 12.0, 13.0]),
            precipitation_mm=rain,
        )
        weather.store_days(
            connection, series.id, date(2016, 2, 28), np.array([NAN, 3.5, 4.5]), np.array([12.5, NAN, 14.5])
        )
    with store.read() as connection:
        start, t_min_c, t_max_c = days_of(connection, series)
        stored_rain = connection.execute(
            select(weather_day.c.precipitation_mm).order_by(weather_day.c.day)
        ).scalars()
        assert stored_rain.all() == [0.0, 2.5, None, None]
    assert start == START
    np.testing.assert_array_equal(t_min_c, [1.0, 2.0, 3.5, 4.5])
    np.testing.assert_array_equal(t_max_c, [11.0, 12.5, 13.0, 14.5])


@pytest.mark.slow
def test_thirty_years_come_back_exactly(store: Store, series: weather.WeatherSeries) -> None:
    low = np.random.default_rng(7).normal(5.0, 8.0, 10_958)  # 1981 to 2010, as climate normals count
    with store.begin() as connection:
        assert weather.store_days(connection, series.id, date(1981, 1, 1), low, low + 7.0) == 10_958
    with store.read() as connection:
        start, t_min_c, t_max_c = days_of(connection, series)
    assert start == date(1981, 1, 1)
    np.testing.assert_array_equal(t_min_c, low)
    np.testing.assert_array_equal(t_max_c, low + 7.0)


def test_a_series_without_days_is_no_error(store: Store, series: weather.WeatherSeries) -> None:
    nothing = np.full(3, NAN)
    with store.begin() as connection:
        assert weather.store_days(connection, series.id, START, nothing, nothing) == 0
        assert weather.load_days(connection, series.id) is None


def test_columns_of_different_length_are_refused(store: Store, series: weather.WeatherSeries) -> None:
    with pytest.raises(StoreError, match="differ in length"), store.begin() as connection:
        weather.store_days(connection, series.id, START, np.zeros(3), np.zeros(4))
