"""Possible years made from monthly normals, and the mean year."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest

from calendar_core.weather.daily import DailySeries
from calendar_core.weather.traces import TooLittleWeather, Traces, climatology, traces_from_normals

if TYPE_CHECKING:
    from calendar_core.weather.normals import Normals

START, END = date(2014, 11, 1), date(2016, 12, 31)
TODAY = date(2015, 6, 24)


def from_normals(
    normals: Normals,
    *,
    start: date = START,
    seed: int = 1,
    km: float = 0.0,
    measured: DailySeries | None = None,
    elevation_m: float | None = None,
) -> Traces:
    return traces_from_normals(
        normals,
        start=start,
        end=END,
        today=TODAY,
        seed=seed,
        distance_km=km,
        measured=measured,
        elevation_m=elevation_m,
    )


def test_normals_come_back_as_the_mean_of_the_traces(places: dict[str, Normals]) -> None:
    # The mean of 30 traces over one month is uncertain by about 1.3 / sqrt(30) = 0.25 degC.
    made = from_normals(places["Nagano"])
    assert made.known.kind == "normals"
    assert made.known.years == 0
    assert made.known.measured_to is None
    for month in range(1, 13):
        first, last = date(2015, month, 1), date(2015, month, 28)
        at = slice((first - START).days, (last - START).days + 1)
        assert made.t_max_c[:, at].mean() == pytest.approx(places["Nagano"].t_max_c[month - 1], abs=1.0)
        assert made.t_min_c[:, at].mean() == pytest.approx(places["Nagano"].t_min_c[month - 1], abs=1.0)
    assert (made.t_min_c < made.t_max_c).all()
    assert not np.array_equal(made.t_min_c, from_normals(places["Nagano"], seed=2).t_min_c)


def test_ranges_widen_with_distance(places: dict[str, Normals]) -> None:
    def spread(km: float) -> float:
        made = from_normals(places["Nagano"], km=km)
        return float(((made.t_min_c + made.t_max_c) / 2).mean(axis=1).std())

    assert spread(0) < spread(100) < spread(400) < spread(660)
    assert spread(0) > 0.8  # half a degree of the year, 0.7 of the place
    assert spread(5000) == pytest.approx(spread(20000))


def test_height_follows_the_standard_atmosphere(places: dict[str, Normals]) -> None:
    # ISO 2533: 6.5 degC per 1,000 m.
    at_418 = from_normals(places["Nagano"])
    at_1418 = from_normals(places["Nagano"], elevation_m=1418)
    np.testing.assert_allclose(at_418.t_min_c - at_1418.t_min_c, 6.5)
    unknown = from_normals(places["New York"], elevation_m=1418)
    np.testing.assert_array_equal(unknown.t_min_c, from_normals(places["New York"]).t_min_c)


def test_measured_days_stand_in_traces_from_normals(places: dict[str, Normals], seattle: DailySeries) -> None:
    few = seattle.window(date(2015, 5, 1), date(2015, 12, 31))
    made = from_normals(places["Seattle"], measured=few)
    at = slice((date(2015, 5, 1) - START).days, (TODAY - START).days + 1)
    np.testing.assert_array_equal(made.t_max_c[:, at], np.tile(few.until(TODAY).t_max_c, (30, 1)))
    assert made.known.measured_to == TODAY
    ahead = made.t_max_c[:, at.stop :]
    assert ahead.std(axis=0).min() > 0.5


def test_the_seed_decides_and_a_later_start_shows_the_same_days(places: dict[str, Normals]) -> None:
    later = date(2015, 3, 17)
    whole, part = from_normals(places["Seattle"]), from_normals(places["Seattle"], start=later)
    np.testing.assert_array_equal(whole.t_min_c, from_normals(places["Seattle"]).t_min_c)
    np.testing.assert_allclose(part.t_min_c, whole.t_min_c[:, (later - START).days :], atol=1e-9)


def test_nothing_after_today_changes_anything(places: dict[str, Normals], seattle: DailySeries) -> None:
    low = seattle.t_min_c.copy()
    low[(TODAY - seattle.start).days + 1 :] = -50
    for name in ("Seattle", "Melbourne"):
        made = from_normals(places[name], measured=seattle)
        blind = from_normals(places[name], measured=replace(seattle, t_min_c=low))
        np.testing.assert_array_equal(made.t_min_c, blind.t_min_c)


def test_in_the_south_july_is_cold(places: dict[str, Normals]) -> None:
    made = from_normals(places["Melbourne"])
    july = slice((date(2016, 7, 1) - START).days, (date(2016, 7, 31) - START).days + 1)
    january = slice((date(2016, 1, 1) - START).days, (date(2016, 1, 31) - START).days + 1)
    assert made.t_max_c[:, july].mean() + 8 < made.t_max_c[:, january].mean()


def test_the_mean_year_of_a_sine_is_the_sine() -> None:
    # The running mean over 31 days keeps sin(x) / x of a yearly wave, x = pi * 31 / 365: 98.8 %.
    start, n = date(2001, 1, 1), 3653
    day = np.array([(start + timedelta(days=i)).timetuple().tm_yday for i in range(n)])
    low = 10 + 10 * np.sin(2 * np.pi * day / 365.25)
    year = climatology(DailySeries(start, low, low + 8))
    wave = 10 + 9.88 * np.sin(2 * np.pi * np.arange(1, 367) / 366)
    np.testing.assert_allclose(year.t_min_c, wave, atol=0.1)
    np.testing.assert_allclose(year.t_mean_c, year.t_min_c + 4)


def test_the_mean_year_sees_nothing_after_its_day(long_series: DailySeries) -> None:
    seen = climatology(long_series, until=TODAY)
    blind = climatology(long_series.until(TODAY))
    np.testing.assert_array_equal(seen.t_max_c, blind.t_max_c)
    assert not np.array_equal(seen.t_max_c, climatology(long_series).t_max_c)


def test_the_mean_year_passes_over_gaps(long_series: DailySeries) -> None:
    whole = climatology(long_series)
    low = long_series.t_min_c.copy()
    for year in range(1996, 2016):
        first = (date(year, 4, 1) - long_series.start).days
        low[first : first + 50] = np.nan
    gaps = replace(long_series, t_min_c=low)
    np.testing.assert_allclose(climatology(gaps).t_min_c, whole.t_min_c, atol=1.5)


def test_the_mean_year_of_traces_is_that_of_their_normals(places: dict[str, Normals]) -> None:
    # 30 traces leave about 0.3 degC of chance in a month.
    year = climatology(from_normals(places["Kyoto"]))
    assert year.t_max_c[212:243].mean() == pytest.approx(33.7, abs=1.0)  # August
    assert year.t_min_c[:31].mean() == pytest.approx(1.5, abs=1.0)  # January


def test_half_a_year_has_no_mean_year(seattle: DailySeries) -> None:
    with pytest.raises(TooLittleWeather, match="right would be a whole year"):
        climatology(seattle.window(date(2015, 1, 1), TODAY))
