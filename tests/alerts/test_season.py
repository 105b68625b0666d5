"""Warnings over the hottest weeks and the last frosts of a real year, on forecasts that err; the hours that came decide.

A smaller form of the table that ``python -m tests.benchmarks.warning_season`` prints: hours of Greensboro (TMY3, pvlib), three fixed seeds.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.alerts.erring import Forecasts, World
from tests.alerts.hazards.gardens import SAND_POINT
from tests.alerts.season import (
    SPRING_TREES,
    SUMMER_TREES,
    Run,
    Score,
    Season,
    came,
    runs,
    score,
    told_by_air,
    told_by_program,
)

pytestmark = pytest.mark.slow

SEEDS = (0, 1, 2)
HOTTEST = Season("heat", 7, 3, 15, SUMMER_TREES)
LAST_FROSTS = Season("frost", 4, 5, 15, SPRING_TREES)


@pytest.fixture(scope="module")
def summer() -> list[list[Run]]:
    return [runs(HOTTEST, World(), seed) for seed in SEEDS]


@pytest.fixture(scope="module")
def warned(summer: list[list[Run]]) -> Score:
    return score(came(HOTTEST), *map(told_by_program, summer))


def test_no_tree_comes_into_danger_unwarned(warned: Score) -> None:
    assert warned.count("danger") >= 30
    assert warned.missed == 0
    assert warned.leads_h[0] >= 3.0


def test_one_tree_in_ten_at_most_is_warned_for_nothing(warned: Score) -> None:
    assert warned.count("named") >= 100
    assert warned.false <= 0.1


def test_a_warning_is_changed_twice_at_most(warned: Score) -> None:
    assert len(warned.events) >= 30
    assert warned.most_updates <= 2


@pytest.mark.parametrize("line_c", [32.0, 35.0])
def test_the_air_alone_misses_what_leaves_suffer(summer: list[list[Run]], line_c: float) -> None:
    plain = score(came(HOTTEST), *(told_by_air(of, line_c, HOTTEST) for of in summer))
    assert plain.missed > 0
    assert plain.false > 0.1


def test_no_late_frost_comes_unwarned() -> None:
    judged = [runs(LAST_FROSTS, World(), seed) for seed in SEEDS]
    of = score(came(LAST_FROSTS), *map(told_by_program, judged))
    assert of.count("danger") >= 3
    assert of.missed == 0
    assert of.most_updates <= 2


def test_a_cool_month_is_silent() -> None:
    """Sand Point in July, up to 19.4 degC; the forecasts err half as much again."""
    cool = Season("heat", 7, 1, 31, SUMMER_TREES[:4], SAND_POINT)
    assert told_by_program(runs(cool, World(scale=1.5), 0)) == []


# The forecasts


def test_temperature_errs_as_published() -> None:
    """Melbourne's maximum four days ahead: 2.0 degC in the mean (Stern 2008, Meteorol. Appl. 15:65), normal errors assumed.

    The next day's: more than 5 degC on fewer than five days a year (Stern 2017, AMS 97th Annual Meeting, paper 2.4).
    """
    ahead = World().temperature_c.at(np.array([1.0, 4.0]))
    assert ahead[1] * np.sqrt(2.0 / np.pi) == pytest.approx(2.0, abs=0.05)
    beyond = np.mean(np.abs(np.random.default_rng(0).normal(0.0, ahead[0], 100_000)) > 5.0)
    assert 365 * beyond < 5.0


def test_errors_are_as_large_as_stated_last_and_are_shared() -> None:
    world, truth = World(), HOTTEST.hours
    off = []
    for seed in range(200):
        forecasts = Forecasts(truth, HOTTEST.place, world, seed)
        for hour in (6, 18):
            hours = forecasts.issued(0, truth.at(hour))
            off.append((hours.t_c - truth.part(hours.start, hours.at(len(hours))).t_c)[0])
    first, second = np.array(off[::2]), np.array(off[1::2])
    at = 30  # a day after the first
    assert first[:, at].std() == pytest.approx(1.6, rel=0.15)
    assert np.corrcoef(first[:, at], first[:, at + 24])[0, 1] == pytest.approx(np.exp(-1.0), abs=0.15)
    assert np.corrcoef(first[:, at], second[:, at])[0, 1] == pytest.approx(world.shared, abs=0.15)


def test_the_same_seed_gives_the_same_forecast() -> None:
    now = HOTTEST.hours.at(6)
    one, same, other = (
        Forecasts(HOTTEST.hours, HOTTEST.place, World(), seed).issued(0, now).t_c for seed in (1, 1, 2)
    )
    assert (one == same).all()
    assert (one != other).any()
