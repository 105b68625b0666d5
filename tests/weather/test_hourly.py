"""Days made from hours: midnight to midnight where clocks change, extremes, sums, and what stays unknown."""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, date, datetime, timedelta
from math import inf, isnan, nan
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.weather.hourly import ENOUGH_HOURS, HOUR, MEANINGS, Column, HourlySeries, days_of

if TYPE_CHECKING:
    from calendar_core.weather.daily import FloatArray

BERLIN, ST_JOHNS = ZoneInfo("Europe/Berlin"), ZoneInfo("America/St_Johns")
KATHMANDU, LORD_HOWE = ZoneInfo("Asia/Kathmandu"), ZoneInfo("Australia/Lord_Howe")

# Days on which clocks change, or do not, and their length, by the IANA time zone database: Europe on the last
# Sunday of March and October, Newfoundland (-3:30) on the second of March and the first of November, Lord
# Howe Island by half an hour on the first of April and October, Nepal (+5:45) never.
LENGTHS = [
    (BERLIN, date(2026, 3, 29), 23.0),
    (BERLIN, date(2026, 7, 1), 24.0),
    (BERLIN, date(2026, 10, 25), 25.0),
    (ST_JOHNS, date(2026, 3, 8), 23.0),
    (ST_JOHNS, date(2026, 7, 1), 24.0),
    (ST_JOHNS, date(2026, 11, 1), 25.0),
    (KATHMANDU, date(2026, 3, 29), 24.0),
    (LORD_HOWE, date(2026, 4, 5), 24.5),
    (LORD_HOWE, date(2026, 7, 1), 24.0),
    (LORD_HOWE, date(2026, 10, 4), 23.5),
]


def midnight(day: date, zone: ZoneInfo) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=zone).astimezone(UTC)


def hours_around(day: date, n_hours: int = 72) -> HourlySeries:
    """Invented hours from the day before on: the number of the hour is its temperature, rain 1 mm an hour."""
    start = datetime(day.year, day.month, day.day, tzinfo=UTC) - timedelta(days=1)
    return HourlySeries(start, {"t_c": np.arange(float(n_hours)), "precipitation_mm": np.ones(n_hours)})


@pytest.mark.parametrize(("zone", "day", "length_h"), LENGTHS)
def test_a_day_is_as_long_as_its_clock_says(zone: ZoneInfo, day: date, length_h: float) -> None:
    end = midnight(day + timedelta(days=1), zone)
    assert (end - midnight(day, zone)) / HOUR == length_h
    hourly = hours_around(day)
    days = days_of(hourly, zone)
    at = (day - days.series.start).days
    first, last = ((midnight(d, zone) - hourly.start) / HOUR for d in (day, day + timedelta(days=1)))
    assert days.series.t_min_c[at] == np.ceil(first)
    assert days.series.t_max_c[at] == np.ceil(last) - 1
    # One mm in each hour whose middle lies in the day.
    assert days.precipitation_mm[at] == sum(first <= k - 0.5 < last for k in range(len(hourly)))
    assert days.precipitation_mm[at] == pytest.approx(length_h, abs=0.5)


def test_an_instant_at_midnight_is_the_new_day_and_its_rain_the_old() -> None:
    hourly = HourlySeries(
        datetime(2026, 5, 1, tzinfo=UTC),
        {
            "t_c": np.r_[-5.0, np.full(48, 10.0)],
            "t_high_c": np.r_[30.0, np.full(48, 10.0)],
            "precipitation_mm": np.r_[7.0, np.ones(48)],
        },
    )
    days = days_of(hourly, ZoneInfo("UTC"))
    assert days.series.start == date(2026, 4, 30)
    assert days.series.t_min_c.tolist()[1:3] == [-5.0, 10.0]
    assert days.series.t_max_c.tolist()[1:3] == [10.0, 10.0]
    assert days.precipitation_mm.tolist()[1:3] == [24.0, 24.0]
    assert np.isnan(days.precipitation_mm[0])


def test_the_last_day_is_that_of_the_last_hour() -> None:
    whole = HourlySeries(datetime(2026, 5, 1, tzinfo=UTC), {"t_c": np.full(24, 10.0)})
    assert days_of(whole, ZoneInfo("UTC")).series.end == date(2026, 5, 1)


def test_the_lowest_of_an_hour_counts_beside_its_instants() -> None:
    values: dict[Column, FloatArray] = {name: np.full(48, 10.0) for name in ("t_c", "t_low_c", "t_high_c")}
    values["t_low_c"][30], values["t_high_c"][40] = -2.0, 21.0
    days = days_of(HourlySeries(datetime(2026, 5, 1, tzinfo=UTC), values), ZoneInfo("UTC"))
    assert (days.series.t_min_c[2], days.series.t_max_c[2]) == (-2.0, 21.0)


@pytest.mark.parametrize(("lacking", "known"), [(2, True), (3, False)])
def test_a_day_may_lack_two_hours_of_temperature_but_none_of_rain(lacking: int, *, known: bool) -> None:
    hourly = hours_around(date(2026, 7, 1), 73)
    hourly.values["t_c"][30 : 30 + lacking] = np.nan
    assert pytest.approx(21.6) == ENOUGH_HOURS * 24  # so that 22 hours are enough and 21 are not
    assert days_of(hourly, ZoneInfo("UTC")).series.measured.tolist() == [False, True, known, True, False]
    hourly.values["precipitation_mm"][30] = np.nan
    rain = days_of(hourly, ZoneInfo("UTC")).precipitation_mm
    assert np.isnan(rain).tolist() == [True, False, True, False, True]


@pytest.mark.parametrize("hour", [24, 36, 47])
def test_one_unknown_hour_of_a_short_day_leaves_its_rain_unknown(hour: int) -> None:
    # The 23.5 hours from 13:30 UTC on hold the middles of 24 hours, each of which is wanted.
    hourly = HourlySeries(datetime(2026, 10, 2, 14, tzinfo=UTC), {"precipitation_mm": np.ones(80)})
    assert days_of(hourly, LORD_HOWE).precipitation_mm[1:4].tolist() == [24.0, 24.0, 24.0]
    hourly.values["precipitation_mm"][hour] = np.nan
    rain = days_of(hourly, LORD_HOWE).precipitation_mm
    assert np.isnan(rain).tolist() == [True, False, True, False, True]


def test_a_day_that_never_was_is_unknown_and_not_dry() -> None:
    # Samoa went from 29 to 31 December 2011 (IANA time zone database).
    hourly = hours_around(date(2011, 12, 30), 96)
    days = days_of(hourly, ZoneInfo("Pacific/Apia"))
    gone = (date(2011, 12, 30) - days.series.start).days
    assert np.isnan([days.precipitation_mm[gone], days.series.t_min_c[gone]]).all()
    assert days.precipitation_mm[gone + 1] == 24.0


def test_no_hours_are_no_days() -> None:
    days = days_of(HourlySeries(datetime(2026, 5, 1, 2, tzinfo=UTC)), ST_JOHNS)
    assert (len(days.series), len(days.precipitation_mm)) == (0, 0)
    assert days.series.start == date(2026, 4, 30)


def test_a_column_the_source_lacks_is_unknown_at_all_hours() -> None:
    hourly = hours_around(date(2026, 5, 1), 30)
    assert np.isnan(hourly["radiation_w_m2"]).all()
    assert hourly["radiation_w_m2"].shape == (30,)
    assert set(MEANINGS.values()) == {"instant", "lowest", "highest", "mean", "sum"}


@pytest.mark.parametrize(
    "start",
    [
        datetime(2026, 5, 1, 0, 30, tzinfo=UTC),
        datetime(2026, 5, 1, tzinfo=BERLIN),
        datetime(2026, 5, 1),  # noqa: DTZ001 - a time without a zone is what must be refused
    ],
)
def test_a_start_that_is_no_hour_of_utc_is_refused(start: datetime) -> None:
    with pytest.raises(ValueError, match=r"start is 2026-05-01T.*right would be a whole hour of UTC"):
        HourlySeries(start)


def test_columns_of_different_length_are_refused() -> None:
    with pytest.raises(ValueError, match=r"right would be \(n,\) for all"):
        HourlySeries(datetime(2026, 5, 1, tzinfo=UTC), {"t_c": np.ones(3), "wind_ms": np.ones(4)})


@st.composite
def weather(draw: st.DrawFn) -> tuple[HourlySeries, ZoneInfo]:
    """Invented hours with gaps, near a day on which clocks change."""
    zone, day, _ = draw(st.sampled_from(LENGTHS))
    n_hours = draw(st.integers(1, 120))
    start = datetime(day.year, day.month, day.day, tzinfo=UTC) + draw(st.integers(-60, 24)) * HOUR

    def column(lowest: float) -> FloatArray:
        value = st.floats(lowest, 40, width=32) | st.just(nan)
        common = draw(value)  # most hours alike and a few not, so that shrinking ends soon
        odd = draw(st.dictionaries(st.integers(0, n_hours - 1), value, max_size=8))
        return np.array([odd.get(hour, common) for hour in range(n_hours)])

    values: dict[Column, FloatArray] = {name: column(-40) for name in ("t_c", "t_low_c", "t_high_c")}
    return HourlySeries(start, {**values, "precipitation_mm": column(0)}), zone


def in_plain_python(hourly: HourlySeries, zone: ZoneInfo) -> dict[date, tuple[float, float, float]]:
    """Lowest, highest and rain of each day hour by hour, the day asked of `zoneinfo` each time."""
    low: dict[date, float] = defaultdict(lambda: inf)
    high: dict[date, float] = defaultdict(lambda: -inf)
    rain: dict[date, float] = defaultdict(float)
    known: dict[date, int] = defaultdict(int)
    for hour in range(-30, len(hourly) + 30):
        inside = 0 <= hour < len(hourly)
        t_c, t_low_c, t_high_c, wet = (
            float(hourly[name][hour]) if inside else nan
            for name in ("t_c", "t_low_c", "t_high_c", "precipitation_mm")
        )
        instant = hourly.start + hour * HOUR
        at, over = (moment.astimezone(zone).date() for moment in (instant, instant - HOUR / 2))
        known[at] += not isnan(t_c)
        rain[over] += wet
        for day, value in ((at, t_c), (over, t_low_c)):
            low[day] = min(low[day], inf if isnan(value) else value)
        for day, value in ((at, t_c), (over, t_high_c)):
            high[day] = max(high[day], -inf if isnan(value) else value)
    for day in rain:
        length = (midnight(day + timedelta(days=1), zone) - midnight(day, zone)) / HOUR
        if known[day] < ENOUGH_HOURS * length:
            low[day] = high[day] = nan
    return {day: (low[day], high[day], rain[day]) for day in rain}


@given(weather())
def test_days_are_those_of_plain_python(drawn: tuple[HourlySeries, ZoneInfo]) -> None:
    hourly, zone = drawn
    days = days_of(hourly, zone)
    wanted = in_plain_python(hourly, zone)
    for n in range(len(days.series)):
        low, high, rain = wanted.pop(days.series.start + timedelta(days=n))
        got = (days.series.t_min_c[n], days.series.t_max_c[n], days.precipitation_mm[n])
        assert got == pytest.approx((low, high, rain), nan_ok=True)
    assert all(isnan(value) for low, high, _ in wanted.values() for value in (low, high))


@pytest.mark.slow
@given(weather())
def test_the_rain_of_whole_days_is_the_rain_of_their_hours(drawn: tuple[HourlySeries, ZoneInfo]) -> None:
    hourly, zone = drawn
    wet = np.nan_to_num(hourly["precipitation_mm"])
    days = days_of(HourlySeries(hourly.start, {"precipitation_mm": wet}), zone)
    whole = np.flatnonzero(~np.isnan(days.precipitation_mm))
    if whole.size:
        first, last = (days.series.start + timedelta(days=int(n)) for n in (whole[0], whole[-1] + 1))
        middles = [hourly.start + n * HOUR - HOUR / 2 for n in range(len(hourly))]
        inside = [midnight(first, zone) <= middle < midnight(last, zone) for middle in middles]
        assert whole[-1] - whole[0] + 1 == whole.size
        assert days.precipitation_mm[whole].sum() == pytest.approx(wet[inside].sum())
