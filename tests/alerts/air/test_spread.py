"""Members around one forecast: equally likely, growing apart, the same each time."""

from __future__ import annotations

from datetime import UTC, date, datetime

import numpy as np
import pytest

from alerts.air.hours import clock
from alerts.air.spread import spread
from tests.alerts.hazards.gardens import GREENSBORO, KNOWLEDGE, made, year_hours

ERRORS = KNOWLEDGE.hazards.forecast_error
HOURS = year_hours(GREENSBORO, 7, 1, 10)


@pytest.mark.parametrize("members", [1, 2, 20, 51])
def test_members_stand_around_the_forecast(members: int) -> None:
    found = spread(HOURS, GREENSBORO, ERRORS, members=members)
    assert found.n_members == members
    assert found.t_c.mean(axis=0) == pytest.approx(HOURS.t_c[0])
    windy = HOURS.wind_10m_ms[0] > 0
    logs = np.log(found.wind_10m_ms[:, windy]).mean(axis=0)
    assert logs == pytest.approx(np.log(HOURS.wind_10m_ms[0, windy]))
    if members == 1:
        assert found.sunlight_w_m2 == pytest.approx(HOURS.sunlight_w_m2)


def test_they_are_as_far_apart_as_the_error_says() -> None:
    found = spread(HOURS, GREENSBORO, ERRORS, members=201)
    error = ERRORS.temperature_c
    for hour in (0, 48, 200):
        assert found.t_c[:, hour].std() == pytest.approx(error.start + error.per_day * hour / 24.0, rel=0.02)
    assert found.t_c[:, -1].std() <= error.most


def test_long_after_the_issue_the_error_is_at_most_that_of_weather() -> None:
    far = made(datetime(1990, 8, 30, tzinfo=UTC), t_c=np.full((1, 5), 20.0))
    late = spread(type(far)(far.start, HOURS.issued, **far.columns()), GREENSBORO, ERRORS, members=201)
    assert late.t_c.std(axis=0) == pytest.approx(ERRORS.temperature_c.most, rel=0.02)


def test_errors_of_temperature_cloud_and_wind_have_nothing_to_do_with_each_other() -> None:
    night = made(datetime(1990, 7, 1, tzinfo=UTC), t_c=np.full((1, 3), 20.0), cloud_percent=50.0)
    found = spread(night, GREENSBORO, ERRORS, members=20)
    columns = np.stack([found.t_c[:, 0], found.cloud_percent[:, 0], found.wind_10m_ms[:, 0]])
    assert np.abs(np.corrcoef(columns) - np.eye(3)).max() < 0.3


def test_nothing_is_left_to_chance() -> None:
    one, other = (spread(HOURS, GREENSBORO, ERRORS) for _ in range(2))
    assert all(
        np.array_equal(a, b) for a, b in zip(one.columns().values(), other.columns().values(), strict=True)
    )


def test_more_cloud_takes_light_and_less_gives_no_more_than_a_clear_sky() -> None:
    found = spread(HOURS, GREENSBORO, ERRORS)
    noon = 13
    by_cloud = np.argsort(found.cloud_percent[:, noon])
    assert np.all(np.diff(found.sunlight_w_m2[by_cloud, noon]) <= 1e-9)
    assert 0.0 <= found.cloud_percent.min() <= found.cloud_percent.max() <= 100.0
    assert found.sunlight_w_m2.min() >= 0.0
    assert found.sunlight_w_m2.max() <= 1100.0  # solar constant less what clear air takes


_NO_ERROR = {"start": 0.0, "per_day": 0.0, "most": 0.0}
SURE = ERRORS.model_copy(update={"temperature_c": ERRORS.temperature_c.model_copy(update=_NO_ERROR)})


def test_daily_members_take_the_place_of_the_error() -> None:
    days = clock(HOURS, GREENSBORO).days
    low = {day: np.array([-1.0, 0.0, 1.0]) + 20.0 for day in days}
    high = {day: np.array([-3.0, 0.0, 3.0]) + 30.0 for day in days}
    found = spread(HOURS, GREENSBORO, SURE, low_c=low, high_c=high)
    assert found.n_members == 3
    by_day = found.t_c.reshape(3, -1, 24)
    real = HOURS.t_c.reshape(-1, 24)
    assert by_day.max(axis=-1) - real.max(axis=-1) == pytest.approx(
        np.array([[-3.0], [0.0], [3.0]]) + 0 * real.max(-1)
    )
    coldest = np.take_along_axis(by_day, real.argmin(axis=-1)[None, :, None], axis=-1)[..., 0]
    assert coldest - real.min(axis=-1) == pytest.approx(np.array([[-1.0], [0.0], [1.0]]) + 0 * real.min(-1))


def test_a_day_without_members_takes_those_of_the_nearest() -> None:
    low, high = {date(1990, 7, 2): np.array([9.0, 11.0])}, {date(1990, 7, 2): np.array([19.0, 21.0])}
    found = spread(HOURS, GREENSBORO, SURE, low_c=low, high_c=high)
    assert found.t_c[1] - found.t_c[0] == pytest.approx(2.0)


def test_members_too_close_together_are_spread_to_the_error() -> None:
    days = clock(HOURS, GREENSBORO).days
    close = {day: np.array([-0.2, 0.0, 0.2]) + 20.0 for day in days}
    found = spread(HOURS, GREENSBORO, ERRORS, low_c=close, high_c=close)
    lead = np.arange(len(HOURS)) / 24.0
    error = ERRORS.temperature_c
    expected = np.minimum(error.start + error.per_day * lead, error.most)
    assert found.t_c.std(axis=0) == pytest.approx(expected)
    wide = {day: np.array([-9.0, 0.0, 9.0]) + 20.0 for day in days}
    found = spread(HOURS, GREENSBORO, ERRORS, low_c=wide, high_c=wide)
    assert found.t_c[2] - found.t_c[0] == pytest.approx(18.0)


def test_members_that_do_not_differ_at_all_are_spread_to_the_error_too() -> None:
    same = {day: np.full(20, 20.0) for day in clock(HOURS, GREENSBORO).days}
    found = spread(HOURS, GREENSBORO, ERRORS, low_c=same, high_c=same)
    error, lead = ERRORS.temperature_c, np.arange(len(HOURS)) / 24.0
    assert found.t_c.std(axis=0) == pytest.approx(np.minimum(error.start + error.per_day * lead, error.most))
    assert found.t_c.mean(axis=0) == pytest.approx(HOURS.t_c[0])


def test_members_are_not_spread_again() -> None:
    with pytest.raises(ValueError, match="found 20 members"):
        spread(spread(HOURS, GREENSBORO, ERRORS), GREENSBORO, ERRORS)
