"""Possible years: what is measured, what the past lends, and that nothing comes from the future."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from calendar_core.weather.daily import DailySeries, FloatArray
from calendar_core.weather.past_years import past_years
from calendar_core.weather.traces import TooLittleWeather, Traces, make_traces

START, END = date(2014, 11, 1), date(2016, 12, 31)
TODAY = date(2015, 6, 24)
some_today = st.dates(date(2013, 6, 1), date(2015, 12, 31))
slow = settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])


def traces(measured: DailySeries, today: date = TODAY, seed: int = 1, start: date = START) -> Traces:
    return make_traces(measured, start=start, end=END, today=today, place="here", seed=seed)


def same(a: Traces, b: Traces) -> bool:
    return np.array_equal(a.t_min_c, b.t_min_c) and np.array_equal(a.t_max_c, b.t_max_c)


def by_date(series: DailySeries) -> dict[date, float]:
    return {series.start + timedelta(days=i): float(v) for i, v in enumerate(series.t_min_c)}


def without(series: DailySeries, first: date, last: date) -> DailySeries:
    low, high = series.t_min_c.copy(), series.t_max_c.copy()
    at = slice((first - series.start).days, (last - series.start).days + 1)
    low[at] = high[at] = np.nan
    return replace(series, t_min_c=low, t_max_c=high)


@slow
@given(today=some_today, later=st.sampled_from([99.0, -99.0, float("nan")]), seed=st.integers(0, 9))
def test_nothing_after_today_changes_anything(
    seattle: DailySeries, long_series: DailySeries, today: date, later: float, seed: int
) -> None:
    for series in (seattle, long_series):
        low, high = series.t_min_c.copy(), series.t_max_c.copy()
        at = (today - series.start).days + 1
        low[at:] = high[at:] = later
        blind = traces(replace(series, t_min_c=low, t_max_c=high), today, seed)
        assert same(traces(series, today, seed), blind)
        assert same(traces(series.until(today), today, seed), blind)
        assert blind.known.measured_to == today


@slow
@given(today=some_today, seed=st.integers(0, 2**40))
def test_traces_are_whole_and_hold_the_measured_days(seattle: DailySeries, today: date, seed: int) -> None:
    made = traces(seattle, today, seed)
    assert made.t_min_c.shape == made.t_max_c.shape == (30, (END - START).days + 1)
    assert np.isfinite(made.t_min_c).all()
    assert (made.t_min_c <= made.t_max_c).all()
    seen = seattle.window(START, min(today, END))
    ok = seen.measured
    np.testing.assert_array_equal(made.t_min_c[:, : len(seen)][:, ok], np.tile(seen.t_min_c[ok], (30, 1)))
    np.testing.assert_array_equal(made.t_max_c[:, : len(seen)][:, ok], np.tile(seen.t_max_c[ok], (30, 1)))


def test_the_seed_decides(seattle: DailySeries) -> None:
    assert same(traces(seattle, seed=5), traces(seattle, seed=5))
    assert not same(traces(seattle, seed=5), traces(seattle, seed=6))


def test_a_later_start_shows_the_same_days(seattle: DailySeries) -> None:
    later = date(2015, 3, 17)
    part, whole = traces(seattle, start=later), traces(seattle)
    np.testing.assert_allclose(part.t_min_c, whole.t_min_c[:, (later - START).days :], atol=1e-9)


def test_enough_years_are_one_trace_each(long_series: DailySeries) -> None:
    """Against a slow second version: the same month and day of the year, 28 for 29 February."""
    made = traces(long_series)
    past = by_date(long_series.until(TODAY))
    assert made.known.kind == "years"
    assert made.known.years == 19
    years = list(range(1996, 2015))
    for row, year in enumerate(years):
        for ahead in range(1, (END - TODAY).days + 1):
            day = TODAY + timedelta(days=ahead)
            shift = year - 2015
            if (day.month, day.day) > (6, 24) and day.year == 2016 and row == len(years) - 1:
                shift = years[0] - 2016  # after the newest year comes the oldest
            try:
                source = day.replace(year=day.year + shift)
            except ValueError:
                source = date(day.year + shift, 2, 28)
            column = (day - START).days
            assert made.t_min_c[row, column] == pytest.approx(past[source], abs=1e-12), (year, day)


def test_which_year_comes_first_does_not_matter(long_series: DailySeries) -> None:
    """The same 19 years turned round, and mixed: the same rows, in another order."""
    table = long_series.t_min_c[: 19 * 365].reshape(19, 365)
    start, today = date(2101, 1, 1), date(2119, 12, 31)

    def rows(years: FloatArray) -> FloatArray:
        low = np.concatenate([y if (2101 + i) % 4 else np.append(y, y[-1]) for i, y in enumerate(years)])
        made = make_traces(
            DailySeries(start, low, low + 9),
            start=date(2120, 1, 1),
            end=date(2120, 2, 28),  # 29 February falls to another year
            today=today,
            place="x",
            seed=1,
        )
        return np.array(sorted(made.t_min_c.tolist()))

    assert rows(table).shape == (19, 59)
    np.testing.assert_array_equal(rows(table), rows(np.roll(table, 7, axis=0)))
    np.testing.assert_array_equal(rows(table), rows(np.random.default_rng(1).permutation(table)))


def test_at_most_forty_years_are_used() -> None:
    n = 46 * 366
    low = 10 - 10 * np.cos(np.arange(n) * 2 * np.pi / 365.25)
    series = DailySeries(date(1970, 1, 1), low, low + 8)
    assert past_years(series, TODAY).years.tolist() == list(range(1975, 2015))


def test_few_years_are_resampled_and_said_so(seattle: DailySeries) -> None:
    made = traces(seattle)
    assert (made.known.kind, made.known.years, made.known.place) == ("resampled", 3, "here")
    assert made.known.measured_to == TODAY
    assert made.known.distance_km is None


def test_resampled_weather_scatters_like_the_past(seattle: DailySeries) -> None:
    # Measured on the Seattle file itself: standard deviation of the daily mean about its mean year 2.7 degC,
    # day-to-day correlation 0.75. Four years and 30 traces pin these to some tenths.
    made = traces(seattle)
    t_mean = ((made.t_min_c + made.t_max_c) / 2)[:, (TODAY - START).days + 1 :]
    apart = t_mean - t_mean.mean(axis=0)
    assert apart.std() == pytest.approx(2.7, abs=0.4)
    assert (apart[:, :-1] * apart[:, 1:]).mean() / apart.var() == pytest.approx(0.75, abs=0.08)


def test_the_rest_of_2015_lies_within_what_was_possible(seattle: DailySeries) -> None:
    # A forecast of 80 % should hold 80 % of days; one half-year of correlated days says so only roughly.
    made = traces(seattle)
    truth = seattle.window(TODAY + timedelta(days=1), date(2015, 12, 31)).t_max_c
    ahead = made.t_max_c[:, (TODAY - START).days + 1 :][:, : len(truth)]
    low, high = np.quantile(ahead, [0.1, 0.9], axis=0)
    assert 0.6 < ((truth >= low) & (truth <= high)).mean() < 0.95


def test_few_years_leave_the_climate_itself_uncertain() -> None:
    # Three equal invented years show no scatter of their own; what stays is the spread of whole years,
    # 0.5 degC, and that three of them fix a mean to 0.5 / sqrt(3).
    day = np.array([(date(2013, 1, 1) + timedelta(days=i)).timetuple().tm_yday for i in range(3 * 365)])
    low = 10 - 10 * np.cos(2 * np.pi * day / 365)
    made = make_traces(
        DailySeries(date(2013, 1, 1), low, low + 9),
        start=date(2016, 1, 1),
        end=date(2016, 12, 31),
        today=date(2015, 12, 31),
        place="x",
        seed=1,
        count=300,
    )
    assert made.t_min_c.mean(axis=1).std() == pytest.approx(np.hypot(0.5, 0.5 / np.sqrt(3)), abs=0.03)


def test_one_year_gives_thirty_different_traces(seattle: DailySeries) -> None:
    year = seattle.window(date(2014, 6, 25), TODAY)
    made = traces(year)
    assert (made.known.kind, made.known.years) == ("resampled", 1)
    ahead = made.t_min_c[:, (TODAY - START).days + 1 :]
    assert ahead.std(axis=0).min() > 0.5


def test_less_than_a_year_asks_for_normals(seattle: DailySeries) -> None:
    with pytest.raises(TooLittleWeather, match="climate normals of a bundled place"):
        traces(seattle.window(date(2015, 1, 1), TODAY))
    with pytest.raises(TooLittleWeather, match="0 measured days"):
        traces(seattle, today=date(2011, 12, 31))


def test_a_short_gap_is_bridged_and_a_long_one_stays_unknown(long_series: DailySeries) -> None:
    short = traces(without(long_series, date(2015, 3, 2), date(2015, 3, 6)))
    past = by_date(long_series)
    ends = past[date(2015, 3, 1)], past[date(2015, 3, 7)]
    at = (date(2015, 3, 2) - START).days
    np.testing.assert_allclose(short.t_min_c[:, at : at + 5], np.tile(np.linspace(*ends, 7)[1:-1], (19, 1)))
    long = traces(without(long_series, date(2015, 3, 2), date(2015, 3, 7)))
    assert long.known.measured_to == TODAY
    # March of the oldest year belongs to no whole year: that trace takes another one's.
    for row, year in enumerate(range(1997, 2015), 1):
        assert long.t_min_c[row, at] == pytest.approx(past[date(year, 3, 2)])
    assert long.t_min_c[0, at] in [past[date(year, 3, 2)] for year in range(1996, 2015)]


def test_late_reports_leave_the_last_days_uncertain(seattle: DailySeries) -> None:
    made = traces(seattle.until(date(2015, 6, 20)))
    assert made.known.measured_to == date(2015, 6, 20)
    last = made.t_max_c[:, (date(2015, 6, 21) - START).days : (TODAY - START).days + 1]
    assert (last.std(axis=0) > 0.5).all()


def test_a_leap_day_comes_from_leap_years_or_the_day_before() -> None:
    # An invented year in which every temperature is its own day of the month.
    start, today = date(2001, 1, 1), date(2019, 12, 31)
    days = [start + timedelta(days=i) for i in range((today - start).days + 1)]
    low = np.array([d.day + d.month / 100 for d in days])
    series = DailySeries(start, low, low + 5)
    made = make_traces(series, start=date(2020, 2, 27), end=date(2020, 3, 2), today=today, place="x", seed=1)
    leap = [year % 4 == 0 for year in range(2001, 2020)]
    for row, in_leap in enumerate(leap):
        expected = [27.02, 28.02, 29.02 if in_leap else 28.02, 1.03, 2.03]
        np.testing.assert_allclose(made.t_min_c[row], expected)
    plan = make_traces(series, start=date(2021, 2, 27), end=date(2021, 3, 1), today=today, place="x", seed=1)
    np.testing.assert_allclose(plan.t_min_c, np.tile([27.02, 28.02, 1.03], (19, 1)))


@pytest.mark.parametrize(
    ("today", "years"),
    [
        (date(2012, 2, 29), 16),
        (date(2015, 12, 31), 20),
        (date(2016, 1, 1), 20),
        (date(2016, 2, 29), 20),  # the newest year lacks its last two months
        (date(2016, 6, 24), 19),  # and now six
    ],
)
def test_awkward_days_to_plan_on(long_series: DailySeries, today: date, years: int) -> None:
    made = make_traces(
        long_series, start=date(2011, 12, 1), end=date(2018, 3, 1), today=today, place="x", seed=1
    )
    assert np.isfinite(made.t_min_c).all()
    assert made.known.years == years


def test_in_the_south_july_is_cold(seattle: DailySeries) -> None:
    # The Seattle file half a year later stands for a place in the south.
    made = traces(DailySeries(seattle.start + timedelta(days=182), seattle.t_min_c, seattle.t_max_c))
    july = slice((date(2016, 7, 1) - START).days, (date(2016, 7, 31) - START).days + 1)
    january = slice((date(2016, 1, 1) - START).days, (date(2016, 1, 31) - START).days + 1)
    assert made.t_max_c[:, july].mean() + 8 < made.t_max_c[:, january].mean()
