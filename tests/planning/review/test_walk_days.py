"""Days for walks. Times, light and forecasts are made up."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest

from calendar_core.planning.review.walk_days import Light, WalkDay, walk_days
from tests.planning.made_up import knowledge

SATURDAY = date(2015, 9, 19)
MONDAY = date(2015, 9, 21)
RULES = knowledge().review
LONG = Light(720.0, time(19, 15))


def one(day: date, free: int, light: Light = LONG, forecast: tuple[float, float] | None = None) -> WalkDay:
    (found,) = walk_days([day], [free], [light], [] if forecast is None else [forecast], {}, RULES)
    return found


@pytest.mark.parametrize(
    ("free", "minutes"), [(0, 0), (20, 20), (30, 30), (40, 30), (120, 60), (180, 90), (600, 90)]
)
def test_a_walk_takes_half_of_a_long_day_all_of_a_short_one_and_an_hour_and_a_half_at_most(
    free: int, minutes: int
) -> None:
    assert one(SATURDAY, free).minutes == minutes


@pytest.mark.parametrize(
    ("sunset", "minutes"), [(time(19, 15), 30), (time(17, 20), 20), (time(17, 0), 0), (time(16, 20), 0)]
)
def test_a_working_days_evening_ends_with_the_light(sunset: time, minutes: int) -> None:
    found = one(MONDAY, 45, Light(500.0, sunset))
    assert (found.minutes, found.why_not) == (minutes, None if minutes else "dark")


def test_who_has_hours_on_a_working_day_is_at_home_by_day() -> None:
    assert one(MONDAY, 120, Light(480.0, time(16, 20))).minutes == 60


def test_nobody_walks_in_the_polar_night_and_all_can_in_the_polar_day() -> None:
    assert one(SATURDAY, 120, Light(0.0, None)).why_not == "dark"
    assert one(MONDAY, 40, Light(1440.0, None)).minutes == 30


@pytest.mark.parametrize(
    ("extremes", "why"),
    [((-0.5, 8.0), "cold"), ((0.0, 8.0), None), ((18.0, 32.0), "hot"), ((18.0, 31.5), None)],
)
def test_frost_and_heat_that_are_forecast_keep_walks_away(
    extremes: tuple[float, float], why: str | None
) -> None:
    assert one(SATURDAY, 120, forecast=extremes).why_not == why


def test_the_growers_own_day_stands_whatever_the_weather() -> None:
    days = [SATURDAY, MONDAY]
    moved = {SATURDAY: 0, MONDAY: 50}
    found = walk_days(days, [120, 0], [LONG, LONG], [(-5.0, 2.0)] * 2, moved, RULES)
    assert [(day.minutes, day.why_not) for day in found] == [(0, "moved"), (50, None)]


def test_short_days_are_left_where_any_is_long_enough() -> None:
    days = [MONDAY, MONDAY + timedelta(days=1), SATURDAY + timedelta(days=7)]
    assert [day.minutes for day in walk_days(days, [20, 25, 120], [LONG] * 3, [], {}, RULES)] == [0, 0, 60]
    assert [day.minutes for day in walk_days(days, [20, 25, 28], [LONG] * 3, [], {}, RULES)] == [20, 25, 28]
    own = walk_days(days, [20, 25, 120], [LONG] * 3, [], {MONDAY: 13}, RULES)
    assert [day.minutes for day in own] == [13, 0, 60]  # a walk that was moved is as short as it is
