"""Where the season stands: sun, heat, and days ahead of a usual year."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest

from calendar_core.planning.items import Range, StageDate
from calendar_core.planning.seasons.season_line import HeatCurves, SeasonLine, chill_so_far, season_line
from calendar_core.weather.traces import Traces, WeatherKnown
from tests.planning.made_up import garden_of, wave

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.garden.model import Garden

START, N_DAYS = date(2014, 3, 1), 1200
KNOWN = WeatherKnown("years", 30, None, "made-up place")
SEATTLE = garden_of(47.6, wave(date(2000, 1, 1), 366), -122.3, zone="America/Los_Angeles")


def traces(today: date, ahead_days: int = 0, *, mean_c: float = 10.0, south: bool = False) -> Traces:
    """Usual years, all alike, and up to ``today`` a year that runs so many days before them."""
    usual = wave(START, N_DAYS, mean_c=mean_c, south=south)
    early = wave(START + timedelta(days=ahead_days), N_DAYS, mean_c=mean_c, south=south)
    measured = np.arange(N_DAYS) <= (today - START).days
    mean = np.tile(np.where(measured, early, usual), (3, 1))
    return Traces(START, mean - 5, mean + 5, KNOWN)


def line(
    today: date,
    ahead_days: int = 0,
    *,
    garden: Garden = SEATTLE,
    stages: Sequence[StageDate] = (),
    mean_c: float = 10.0,
) -> SeasonLine:
    made = traces(today, ahead_days, mean_c=mean_c, south=garden.latitude < 0)
    return season_line(garden, made, stages, today)


def broke(day: date) -> StageDate:
    return StageDate("bud_break", 7, day.year, Range(day, day, day), 1.0, False, "estimate")


@pytest.mark.parametrize("ahead", [-10, -3, 0, 4, 12])
@pytest.mark.parametrize("latitude", [47.6, -47.6])
def test_a_year_that_runs_early_is_so_many_days_ahead(ahead: int, latitude: float) -> None:
    summer = date(2015, 12, 24) if latitude < 0 else date(2015, 6, 24)
    found = line(summer, ahead, garden=replace(SEATTLE, latitude=latitude))
    assert found.ahead_days == pytest.approx(ahead, abs=1)
    assert found.more_heat is not None
    # A day of late June brings about 14 degrees above a base of 5.
    assert found.more_heat == pytest.approx(14 * ahead, abs=14)


@pytest.mark.parametrize(
    ("days", "told"), [(0.01, 0), (-0.01, 0), (0.9, 1), (1.01, 1), (-0.99, -1), (2.4, 2)]
)
def test_days_ahead_are_told_to_the_nearest_day(days: float, told: int) -> None:
    """Every day brings ten above a base of five, so the heat of so many days is that many times ten."""
    today = date(2015, 6, 24)
    low = np.full((3, N_DAYS), 10.0)
    low[:, (today - START).days] += 10.0 * days
    found = season_line(SEATTLE, Traces(START, low, low + 10.0, KNOWN), (), today)
    assert found.more_heat == pytest.approx(10.0 * days)
    assert found.ahead_days == told


def test_a_forecast_is_no_usual_year() -> None:
    """Ten days of heat that are foreseen do not change by how much the year is ahead of others today."""
    today = date(2015, 6, 24)
    plain = traces(today, 4)
    hot = np.zeros(N_DAYS)
    hot[(today - START).days + 1 :][:10] = 9.0
    foreseen = replace(plain, t_min_c=plain.t_min_c + hot, t_max_c=plain.t_max_c + hot)
    assert season_line(SEATTLE, foreseen, (), today) == season_line(SEATTLE, plain, (), today)


@pytest.mark.parametrize(
    "today", [date(2015, 1, 20), date(2015, 2, 15), date(2015, 3, 1), date(2015, 12, 20)]
)
def test_in_the_cold_days_say_nothing(today: date) -> None:
    found = line(today, mean_c=3.0)
    assert found.ahead_days is None
    assert found.more_heat == pytest.approx(0.0, abs=1.0)


def test_heat_since_bud_break_by_hand() -> None:
    # At 15 degC every day brings ten above a base of five; bud break is the first of sixteen days up to today.
    today = date(2015, 5, 16)
    flat = Traces(START, np.full((3, N_DAYS), 10.0), np.full((3, N_DAYS), 20.0), KNOWN)
    found = season_line(SEATTLE, flat, [broke(date(2015, 5, 1))], today)
    assert found.bud_break == date(2015, 5, 1)
    assert found.heat == pytest.approx(160.0)


@pytest.mark.parametrize(("latitude", "begins"), [(47.6, date(2016, 1, 1)), (-37.8, date(2015, 7, 1))])
def test_sums_begin_anew_with_each_growing_year(latitude: float, begins: date) -> None:
    # At 15 degC every day brings ten above a base of five, in the years that are possible and in those before.
    flat = Traces(START, np.full((3, N_DAYS), 10.0), np.full((3, N_DAYS), 20.0), KNOWN)
    first, today = begins - timedelta(days=30), begins + timedelta(days=5)
    length = (begins.replace(year=begins.year + 1) - begins).days
    for sums in HeatCurves(flat, latitude, today).over(first, 400):
        assert sums.shape == (3, 400)
        told = sums[0]
        assert np.isnan(told[[29, 29 + length]]).all()  # the days before, on which pens are lifted
        assert told[[0, 28]] == pytest.approx([10.0 * 336, 10.0 * 364])
        assert told[30:390] == pytest.approx(10.0 * np.arange(1, 361))
        assert told[30 + length] == pytest.approx(10.0)


def test_sums_of_days_without_weather_are_not_known() -> None:
    flat = Traces(START, np.full((3, N_DAYS), 10.0), np.full((3, N_DAYS), 20.0), KNOWN)
    possible, _ = HeatCurves(flat, 47.6, date(2015, 6, 24)).over(date(2014, 12, 30), N_DAYS)
    assert np.isnan(possible[0, 0])  # of 2014 the days before March are not known
    last = (START - date(2014, 12, 30)).days + N_DAYS
    assert np.isfinite(possible[0, last - 1])
    assert np.isnan(possible[0, last:]).all()


def test_the_middle_bud_break_of_this_year_counts() -> None:
    days = [date(2014, 4, 2), date(2015, 4, 1), date(2015, 4, 10), date(2015, 4, 20), date(2016, 4, 1)]
    found = line(date(2015, 6, 24), stages=[broke(day) for day in days])
    assert found.bud_break == date(2015, 4, 10)
    before = line(date(2015, 3, 1), stages=[broke(day) for day in days])
    assert (before.bud_break, before.heat) == (None, None)


def test_with_normals_only_this_year_is_not_known() -> None:
    today = date(2015, 6, 24)
    normals = replace(traces(today), known=replace(KNOWN, kind="normals"))
    found = season_line(SEATTLE, normals, [broke(date(2015, 4, 1))], today)
    assert (found.ahead_days, found.more_heat, found.heat) == (None, None, None)


def test_the_sun_of_seattle_in_local_time() -> None:
    """Source: US Naval Observatory, Seattle, 24 June 2015: rise 5:12, set 21:11 daylight time (from memory)."""
    sun = line(date(2015, 6, 24)).sun
    assert sun.rise is not None
    assert sun.set is not None
    midnight = datetime(2015, 6, 24, 7, tzinfo=UTC)
    for moment, hours, minutes in ((sun.rise, 5, 12), (sun.set, 21, 11)):
        expected = midnight + timedelta(hours=hours, minutes=minutes)
        assert abs(moment - expected) < timedelta(minutes=2)
        assert moment.utcoffset() == timedelta(hours=-7)


def test_the_day_the_clock_changes_is_as_long_as_its_neighbours() -> None:
    # In the United States clocks went forward on 8 March 2015.
    changes = [line(date(2015, 3, day)).change_min for day in (7, 8, 9)]
    assert max(changes) - min(changes) < 0.5
    assert 3 < changes[1] < 4


@pytest.mark.parametrize(("today", "length_h"), [(date(2015, 6, 21), 24.0), (date(2015, 12, 21), 0.0)])
def test_polar_day_and_night(today: date, length_h: float) -> None:
    polar = replace(SEATTLE, latitude=69.6, longitude=18.9, zone="Europe/Oslo")
    sun = line(today, garden=polar).sun
    assert (sun.length_h, sun.rise, sun.set) == (length_h, None, None)


@pytest.mark.parametrize(
    ("latitude", "today", "since"),
    [
        (47.6, date(2015, 11, 1), date(2015, 11, 1)),
        (47.6, date(2016, 1, 20), date(2015, 11, 1)),
        (-47.6, date(2015, 7, 20), date(2015, 5, 1)),
    ],
)
def test_chill_is_summed_from_november_or_may(latitude: float, today: date, since: date) -> None:
    """The hours of a steady 6 degC from that day on; portions of them: 49.84 in 60 days (reference input B)."""
    still = np.full((3, N_DAYS), 6.0)
    chill = chill_so_far(Traces(START, still, still, KNOWN), latitude, today)
    assert chill is not None
    assert chill.since == since
    n_hours = ((today - since).days + 1) * 24
    assert (chill.hours, chill.utah_units) == (n_hours, n_hours)
    assert chill.portions == pytest.approx(49.8389 * n_hours / 1440, abs=2.5)


def test_chill_of_days_that_are_not_measured_is_the_middle_of_the_possible_years() -> None:
    """At 6 degC every hour chills, at 20 degC none does: of three years the middle one is told, whichever is first."""
    today, gap = date(2016, 1, 25), (date(2015, 11, 21) - START).days
    mean = np.full((3, N_DAYS), 6.0)
    mean[0, gap:] = 20.0
    chill = chill_so_far(Traces(START, mean, mean, KNOWN), 47.6, today)
    assert chill is not None
    assert chill.hours == ((today - date(2015, 11, 1)).days + 1) * 24


@pytest.mark.parametrize("today", [date(2015, 6, 24), date(2015, 10, 31)])
def test_chill_is_told_in_winter_only(today: date) -> None:
    assert line(today).chill is None


def test_chill_is_no_more_told_once_buds_have_broken() -> None:
    assert line(date(2015, 3, 1)).chill is not None
    assert line(date(2015, 3, 1), stages=[broke(date(2015, 2, 20))]).chill is None
