"""Hours made from days: the course against chillR's, at the right moment of any zone, over clock changes and gaps."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from calendar_core.weather.daily import DailySeries
from calendar_core.weather.hourly import HOUR, days_of
from calendar_core.weather.hours_from_days import hours_from_days
from calendar_core.weather.normals import Normals, daily_year
from tests.oracles.tables import facts

SEATTLE = 47.45, -122.31, ZoneInfo("America/Los_Angeles")


def some_days(start: date, n: int = 6) -> DailySeries:
    """Invented days that grow slowly warmer, each 12 degC from its night to its afternoon."""
    low = 5.0 + 0.1 * np.arange(n, dtype=np.float64)
    return DailySeries(start, low, low + 12.0)


def test_a_day_goes_as_chillr_has_it() -> None:
    case = facts("hourly-temperature.toml")["linvill"]
    days = DailySeries(date(2015, 3, 1), np.array(case["t_min_c"]), np.array(case["t_max_c"]))
    assert (date(2015, 3, 2).timetuple().tm_yday, len(days)) == (case["day_of_year"][1], 3)
    # On 2 March the sun is 12.3 min late (US Naval Observatory, equation of time): at 3.07 E its noon is that of UTC.
    hours = hours_from_days(days, case["latitude"], 12.3 / 4, ZoneInfo("UTC"))
    assert (hours.start, len(hours)) == (datetime(2015, 3, 1, tzinfo=UTC), 72)
    assert hours["t_c"][24:48] == pytest.approx(case["hourly_c"], abs=0.03)


@pytest.mark.parametrize(
    ("start", "n_hours"), [(date(2015, 3, 5), 143), (date(2015, 10, 29), 145), (date(2015, 6, 24), 144)]
)
def test_days_come_back_from_their_hours_over_a_clock_change(start: date, n_hours: int) -> None:
    """Clocks changed on 8 March and 1 November 2015 (IANA time zone database)."""
    days = some_days(start)
    latitude, longitude, zone = SEATTLE
    hours = hours_from_days(days, latitude, longitude, zone)
    assert len(hours) == n_hours
    assert hours.start.astimezone(zone).replace(tzinfo=None) == datetime.combine(start, datetime.min.time())
    back = days_of(hours, zone).series.window(days.start, days.end)
    assert back.t_max_c == pytest.approx(days.t_max_c, abs=0.2)
    assert back.t_min_c == pytest.approx(days.t_min_c, abs=0.6)  # the formula passes the minimum a little


@pytest.mark.parametrize(
    ("place", "latitude", "longitude"),
    [("Pacific/Kiritimati", 1.9, -157.4), ("Asia/Kathmandu", 27.7, 85.3), ("Australia/Melbourne", -37.8, 145.0)],
)  # fmt: skip
def test_the_warmest_hour_is_two_hours_after_the_suns_noon_on_that_day(
    place: str, latitude: float, longitude: float
) -> None:
    zone, days = ZoneInfo(place), some_days(date(2015, 6, 24), 1)
    hours = hours_from_days(days, latitude, longitude, zone)
    warmest = hours.start + int(np.argmax(hours["t_c"])) * HOUR
    assert warmest.astimezone(zone).date() == days.start
    sun_h = (warmest - datetime(2015, 6, 24, tzinfo=UTC)) / HOUR + longitude / 15
    assert sun_h % 24 == pytest.approx(14.0, abs=0.6)  # half an hour of rounding, 3 min of the sun's own


def test_a_day_that_lacks_a_value_has_no_hours_and_spoils_no_other() -> None:
    latitude, longitude, zone = SEATTLE
    days = some_days(date(2015, 6, 20))
    days.t_max_c[2] = np.nan
    hours = hours_from_days(days, latitude, longitude, zone)
    back = days_of(hours, zone).series.window(days.start, days.end)
    assert np.isnan(back.t_min_c).tolist() == [n == 2 for n in range(6)]
    assert np.isnan(hours["dew_point_c"]).all()


def test_no_days_have_no_hours() -> None:
    latitude, longitude, zone = SEATTLE
    none = DailySeries(date(2015, 6, 24), np.empty(0), np.empty(0))
    assert len(hours_from_days(none, latitude, longitude, zone)) == 0


def test_crossed_extremes_are_refused() -> None:
    latitude, longitude, zone = SEATTLE
    days = DailySeries(date(2015, 6, 24), np.array([20.0]), np.array([10.0]))
    with pytest.raises(ValueError, match="right would be a minimum at or below its maximum"):
        hours_from_days(days, latitude, longitude, zone)


def test_bundled_normals_give_hours(places: dict[str, Normals]) -> None:
    nagano = places["Nagano"]
    year, slots = daily_year(nagano), slice(211, 221)
    days = DailySeries(date(2015, 7, 30), year.t_min_c[slots], year.t_max_c[slots])
    zone = ZoneInfo(nagano.zone)
    hours = hours_from_days(days, nagano.latitude, nagano.longitude, zone)
    assert hours.start + len(hours) * HOUR == datetime(2015, 8, 8, 15, tzinfo=UTC)
    back = days_of(hours, zone).series.window(days.start, days.end - timedelta(days=1))
    assert back.t_max_c == pytest.approx(days.t_max_c[:-1], abs=0.2)
