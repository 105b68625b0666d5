"""Daylight against skyfield, pvlib and a printed table (tests/oracles/sun.toml), and its own symmetries."""

from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.science.year.daylight import SunTimes, day_length_h, sun_times
from tests.oracles.sun_position import sun_position
from tests.oracles.tables import facts

SUN = facts("sun.toml")
ZONES = ("UTC", "Pacific/Kiritimati", "Pacific/Pago_Pago", "Asia/Tokyo", "America/Chicago", "Pacific/Chatham")

latitudes = st.floats(-90.0, 90.0)
longitudes = st.floats(-180.0, 180.0)
days = st.dates(date(1950, 1, 1), date(2100, 12, 31))
zones = st.sampled_from(ZONES).map(ZoneInfo)


def name(row: dict[str, Any]) -> str:
    return str(row["place"])


def at(place: dict[str, Any]) -> SunTimes:
    return sun_times(place["latitude"], place["longitude"], place["day"], ZoneInfo(place["zone"]))


def seconds_apart(found: datetime | None, row: dict[str, Any], event: str) -> float:
    assert found is not None
    assert found.utcoffset() == timedelta(0)
    expected = datetime.combine(row["day"], row[event], ZoneInfo(row["zone"]))
    return abs((found - expected.astimezone(UTC)).total_seconds())


@pytest.mark.parametrize("row", SUN["sun_times"]["day"], ids=name)
def test_rise_and_set_agree_with_the_reference(row: dict[str, Any]) -> None:
    tolerance_s = 60 if abs(row["latitude"]) < 55 else 120
    found = at(row)
    off = seconds_apart(found.rise, row, "rise"), seconds_apart(found.set, row, "set")
    print(
        f"{row['place']}: sunrise off by {off[0]:.0f} s, sunset by {off[1]:.0f} s, up {found.length_h:.3f} h"
    )
    if abs(row["latitude"]) < 66:
        assert max(off) <= tolerance_s


@pytest.mark.parametrize("row", SUN["sun_times"]["without_events"], ids=name)
def test_polar_day_and_night_are_values(row: dict[str, Any]) -> None:
    assert at(row) == SunTimes(None, None, row["length_h"])


def test_sunrise_agrees_with_a_printed_latitude_table() -> None:
    table = SUN["latitude_table"]
    for latitude, printed in zip(table["latitude"], table["rise"], strict=True):
        rise = sun_times(latitude, 0.0, table["day"], ZoneInfo("UTC")).rise
        assert rise is not None
        expected = datetime.combine(table["day"], printed, UTC)
        assert abs(rise - expected) <= timedelta(seconds=60)


def test_day_length_agrees_with_an_independent_script() -> None:
    for latitude, day, hours in SUN["day_length"]["rows"]:
        found = float(day_length_h(latitude, np.array([day]))[0])
        print(f"latitude {latitude}, day {day}: {found:.4f} h, expected {hours} h")
        # The table prints three or four decimals.
        assert found == pytest.approx(hours, abs=1e-4 if hours != round(hours, 3) else 5e-4)


def test_sun_stands_east_in_the_morning_and_west_in_the_evening() -> None:
    # Geometry: at an equinox the sun rises due east and sets due west everywhere.
    for latitude in (-40.0, 0.0, 40.0):
        times = sun_times(latitude, 0.0, date(2024, 3, 20), ZoneInfo("UTC"))
        assert times.rise is not None
        assert times.set is not None
        elevation, azimuth = sun_position(latitude, 0.0, [times.rise, times.set])
        assert azimuth == pytest.approx([90.0, 270.0], abs=1.5)
        # The upper limb is on the horizon: the middle is seen half a sun (16') below. Refraction this low is
        # modelled to a fifth of a degree only.
        assert elevation == pytest.approx([-16 / 60, -16 / 60], abs=0.2)


def test_sunset_after_local_midnight_belongs_to_the_day_before() -> None:
    # In Iceland clocks run ahead of the sun; in Akureyri the sun of 10 June sets on the 11th.
    zone = ZoneInfo("Atlantic/Reykjavik")
    times = sun_times(65.68, -18.1, date(2024, 6, 10), zone)
    assert times.rise is not None
    assert times.set is not None
    assert times.rise.astimezone(zone).date() == date(2024, 6, 10)
    assert times.set.astimezone(zone).date() == date(2024, 6, 11)
    assert 22.0 < times.length_h < 24.0


def test_the_first_day_of_the_midnight_sun_has_a_sunrise_and_no_sunset() -> None:
    tromso = [
        sun_times(69.6492, 18.9553, date(2024, 5, 10) + timedelta(days=k), ZoneInfo("Europe/Oslo"))
        for k in range(15)
    ]
    lengths = [times.length_h for times in tromso]
    assert lengths == sorted(lengths)
    assert lengths[-1] == 24.0
    half = [times for times in tromso if times.rise is not None and times.set is None]
    assert len(half) == 1
    assert 23.0 < half[0].length_h < 24.0


@pytest.mark.slow
@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"),
    [
        (23.8, 90.4, "Asia/Dhaka"),  # sunrise passes midnight UTC in March
        (43.8, 87.6, "Asia/Shanghai"),  # clocks two hours ahead of the sun
        (41.9, -87.7, "America/Chicago"),  # sunset passes midnight UTC in autumn
        (1.9, -157.4, "Pacific/Kiritimati"),
        (-14.3, -170.7, "Pacific/Pago_Pago"),
        (-44.0, -176.5, "Pacific/Chatham"),
        (-0.1807, -78.4678, "America/Guayaquil"),
    ],
)
def test_every_day_of_a_leap_year_has_its_own_sunrise_and_sunset(
    latitude: float, longitude: float, zone: str
) -> None:
    local = ZoneInfo(zone)
    for k in range(366):
        day = date(2024, 1, 1) + timedelta(days=k)
        times = sun_times(latitude, longitude, day, local)
        assert times.rise is not None
        assert times.set is not None
        assert times.rise.astimezone(local).date() == day == times.set.astimezone(local).date()
        assert times.length_h == pytest.approx((times.set - times.rise).total_seconds() / 3600)


@pytest.mark.parametrize(
    ("zone", "place", "day", "hours"),
    [
        ("Europe/Berlin", (52.52, 13.405), date(2024, 3, 31), 23),
        ("America/New_York", (40.7128, -74.006), date(2024, 11, 3), 25),
    ],
)
def test_the_length_of_day_does_not_jump_where_the_clock_does(
    zone: str, place: tuple[float, float], day: date, hours: int
) -> None:
    local = ZoneInfo(zone)
    start, stop = (datetime.combine(day + timedelta(days=k), time(), local).astimezone(UTC) for k in (0, 1))
    assert stop - start == timedelta(hours=hours)
    before, on, after = (sun_times(*place, day + timedelta(days=k), local).length_h for k in (-1, 0, 1))
    assert on == pytest.approx((before + after) / 2, abs=2 / 3600)


@given(latitudes, longitudes, days, zones)
def test_no_place_and_no_day_raises(latitude: float, longitude: float, day: date, zone: ZoneInfo) -> None:
    times = sun_times(latitude, longitude, day, zone)
    assert 0.0 <= times.length_h <= 24.0
    if times.rise is None and times.set is None:
        assert times.length_h in (0.0, 24.0)
    if times.rise is not None and times.set is not None:
        assert times.length_h * 3600 == pytest.approx((times.set - times.rise).total_seconds())


@given(latitudes, st.integers(1, 366))
def test_day_length_stays_between_none_and_a_day(latitude: float, day: int) -> None:
    assert 0.0 <= float(day_length_h(latitude, np.array([day]))[0]) <= 24.0


@given(st.floats(-60.0, 60.0), st.dates(date(1990, 1, 1), date(2040, 12, 31)))
def test_both_day_lengths_agree(latitude: float, day: date) -> None:
    # The formula by day of the year knows no leap years and may be a day and a half off in the season:
    # 4 minutes at 40 degrees and 8 at 60, where a day in March makes 5.5 minutes.
    smooth = float(day_length_h(latitude, np.array([day.timetuple().tm_yday]))[0])
    exact = sun_times(latitude, 0.0, day, ZoneInfo("UTC")).length_h
    assert smooth == pytest.approx(exact, abs=(4 if abs(latitude) <= 40 else 8.1) / 60)


@given(st.floats(0.0, 45.0), st.integers(1, 365))
def test_the_south_has_the_northern_days_half_a_year_later(latitude: float, day: int) -> None:
    # The two halves of the year differ by a few days, so the match is to a quarter of an hour.
    north = float(day_length_h(latitude, np.array([day]))[0])
    south = float(day_length_h(-latitude, np.array([day + 182.6]))[0])
    assert south == pytest.approx(north, abs=0.25)


@given(st.floats(0.0, 60.0), st.integers(1, 365))
def test_what_one_hemisphere_has_above_twelve_hours_the_other_lacks(latitude: float, day: int) -> None:
    # But for refraction and the sun's width: 3.3 minutes at each of four events, more at a slant.
    both = float(np.sum([day_length_h(sign * latitude, day) for sign in (1, -1)]))
    assert 24.0 + 4 * 0.8333 / 15.0 - 1e-3 <= both <= 24.75


def test_longer_days_toward_the_summer_pole() -> None:
    lengths = [float(day_length_h(latitude, np.array([172]))[0]) for latitude in range(-90, 91, 10)]
    assert lengths == sorted(lengths)
    assert lengths[0] == 0.0
    assert lengths[-1] == 24.0


def test_shape_is_kept() -> None:
    assert day_length_h(35.0, np.arange(1, 13).reshape(3, 4)).shape == (3, 4)
