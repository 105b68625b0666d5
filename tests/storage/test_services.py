"""What services handed out comes back as it was, on both databases."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import uuid4
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from calendar_core.storage import weather
from calendar_core.storage.services import (
    Answer,
    RejectedValue,
    StoredForecast,
    StoredHours,
    get_answer,
    get_forecast,
    get_forecast_hours,
    latest_snapshot,
    list_rejected,
    put_answer,
    put_forecast,
    put_forecast_hours,
    put_rejected,
    put_snapshot,
)
from calendar_core.storage.weather import WeatherSeries
from calendar_core.weather.hourly import days_of

if TYPE_CHECKING:
    from calendar_core.garden.model import Garden
    from calendar_core.storage.engine import Store
    from calendar_core.weather.daily import FloatArray
    from calendar_core.weather.hourly import Column

NOW = datetime(2020, 5, 10, 6, tzinfo=UTC)
URL = "https://weather.example/v1/ensemble?latitude=36.66"


def test_an_answer_is_kept_byte_by_byte_and_replaced(store: Store) -> None:
    first = Answer(URL, '"a"', None, NOW + timedelta(hours=1), NOW, b"\x00\xff{}")
    newer = Answer(URL, None, "Sun, 10 May 2020 05:00:00 GMT", None, NOW + timedelta(hours=2), b"{}")
    for answer in (first, newer):
        with store.begin() as connection:
            put_answer(connection, answer)
        with store.read() as connection:
            assert get_answer(connection, URL) == answer
    with store.read() as connection:
        assert get_answer(connection, "https://weather.example/other") is None


def run(fetched: datetime, source: str = "invented") -> StoredForecast:
    low = np.array([[1.25, np.nan], [2.0, 3.0]])
    return StoredForecast(
        source, 36.6612, 138.1877, "Asia/Tokyo", NOW, fetched, date(2020, 5, 10), low, low + 8, "credit", 3.5
    )


def test_a_forecast_is_found_from_anywhere_near_and_holds_its_gaps(store: Store) -> None:
    with store.begin() as connection:
        put_forecast(connection, run(NOW))
    with store.read() as connection:
        found = get_forecast(connection, 36.6589, 138.1913, "Asia/Tokyo")
        assert get_forecast(connection, 36.6589, 138.1913, "Europe/Berlin") is None
        assert get_forecast(connection, 36.7, 138.19, "Asia/Tokyo") is None
    assert found is not None
    assert np.array_equal(found.t_min_c, run(NOW).t_min_c, equal_nan=True)
    assert (found.latitude, found.longitude, found.issued) == (36.66, 138.19, NOW)


def test_the_run_fetched_last_is_the_one_whatever_its_source(store: Store) -> None:
    with store.begin() as connection:
        put_forecast(connection, run(NOW + timedelta(hours=1), "second"))
        put_forecast(connection, run(NOW, "first"))
    with store.read() as connection:
        found = get_forecast(connection, 36.66, 138.19, "Asia/Tokyo")
    assert found is not None
    assert found.source == "second"


def hours_ahead(fetched: datetime, source: str = "invented", *, known: bool = True) -> StoredHours:
    """An invented run over the end of summer time in Europe, 25 October 2020, with a gap."""
    start = datetime(2020, 10, 24, 22, tzinfo=UTC)
    t_c = 8.0 + np.arange(49) % 24 / 4
    t_c[7] = np.nan
    columns: dict[Column, FloatArray] = {
        "t_c": t_c if known else np.full(49, np.nan), "weather_code": np.full(49, 96.0),
    }  # fmt: skip
    return StoredHours(source, 47.3772, 8.5411, start, fetched, start, columns, "credit", 3.5, fetched)


def test_hours_come_back_with_their_gaps_over_a_clock_change(store: Store) -> None:
    before = hours_ahead(datetime(2020, 10, 24, 23, tzinfo=UTC))
    with store.begin() as connection:
        assert put_forecast_hours(connection, before)
    with store.read() as connection:
        found = get_forecast_hours(connection, 47.3812, 8.5379)
        assert get_forecast_hours(connection, 47.3912, 8.5379) is None
    assert found is not None
    assert (found.latitude, found.longitude, found.start) == (47.38, 8.54, before.start)
    assert (found.issued, found.fetched, found.expires) == (before.issued, before.fetched, before.expires)
    assert list(found.columns) == ["t_c", "weather_code"]
    np.testing.assert_array_equal(found.series["t_c"], before.columns["t_c"])
    zone = ZoneInfo("Europe/Zurich")
    days, same = (days_of(one.series, zone).series for one in (before, found))
    assert (days.start, len(days)) == (same.start, len(same))
    np.testing.assert_array_equal(same.t_min_c, days.t_min_c)
    assert found.reach == datetime(2020, 10, 26, 22, tzinfo=UTC)


@pytest.mark.parametrize(("fetched_day", "known"), [(25, False), (27, True)])
def test_a_run_without_temperature_to_come_leaves_the_good_one(
    store: Store, fetched_day: int, known: bool
) -> None:
    good = hours_ahead(datetime(2020, 10, 24, 23, tzinfo=UTC))
    useless = hours_ahead(datetime(2020, 10, fetched_day, 12, tzinfo=UTC), known=known)
    with store.begin() as connection:
        put_forecast_hours(connection, good)
        assert not put_forecast_hours(connection, useless)
    with store.read() as connection:
        found = get_forecast_hours(connection, 47.38, 8.54)
    assert found is not None
    assert found.fetched == good.fetched


def test_the_hours_fetched_last_are_those_whatever_their_source(store: Store) -> None:
    with store.begin() as connection:
        for hour, source in ((23, "first"), (22, "second")):
            put_forecast_hours(connection, hours_ahead(datetime(2020, 10, 24, hour, tzinfo=UTC), source))
    with store.read() as connection:
        found = get_forecast_hours(connection, 47.38, 8.54)
    assert found is not None
    assert found.source == "first"


def test_values_not_believed_take_the_place_of_those_of_the_same_days(store: Store) -> None:
    series = WeatherSeries(uuid4(), "invented", "here", "here", 36.0, 138.0, 0.0, "service")
    with store.begin() as connection:
        kept = weather.save_series(connection, series)
        day = date(2019, 7, 1)
        wrong = RejectedValue(kept.id, day, "", "t_min", -40.0, "spike")
        hours = [RejectedValue(kept.id, day, f"0{n}:00", "t_c", -40.0, "spike") for n in (1, 2)]
        put_rejected(connection, kept.id, day, day, [wrong, *hours])
        put_rejected(connection, kept.id, day, day, [wrong])
    with store.read() as connection:
        assert list_rejected(connection, kept.id) == (wrong,)


def test_the_newest_snapshot_up_to_a_day_is_found(store: Store, garden: Garden) -> None:
    with store.begin() as connection:
        for day in (10, 20):
            put_snapshot(connection, garden.id, date(2020, 5, day), NOW, {"n": day})
    with store.read() as connection:
        assert latest_snapshot(connection, garden.id, date(2020, 5, 19)) == (date(2020, 5, 10), {"n": 10})
        assert latest_snapshot(connection, garden.id, date(2020, 5, 9)) is None
