"""The stage model at Harvard Forest against an independent script (tests/oracles/stage-model.toml)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from calendar_core.science.year.daylight import day_length_h
from calendar_core.science.year.stages import (
    RATES,
    Rates,
    chill,
    crossing,
    falls_below,
    first_day,
    forcing,
    gate,
    has_winter,
    last_day,
    softened_heat,
    sum_at,
    trailing_mean,
)
from tests.oracles.tables import Winter, facts, harvard_forest

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

MODEL = facts("stage-model.toml")
HEAT_FROM, CHILL_FROM = -10, -60
FILE_RATES = Rates(gate_h=12.25)  # the gate that belongs to the file's own day length
WITHOUT_CHILL = Rates(gate_h=12.25, chill_gain=0.0)


def sums(winter: Winter, day_length: Floats, rates: Rates) -> tuple[Floats, Floats, Floats]:
    """Return heat, chill and softened heat at the end of each day."""
    heat = np.cumsum(np.where(winter.doy >= HEAT_FROM, forcing(winter.t_mean_c, day_length, rates), 0.0))
    cold = np.cumsum(np.where(winter.doy >= CHILL_FROM, chill(winter.t_mean_c, rates), 0.0))
    return heat, cold, softened_heat(heat, cold, rates)


def event(winter: Winter, day_length: Floats, rates: Rates, need: float) -> float:
    """Return the day of the year on which the need is reached."""
    heat = sums(winter, day_length, rates)[2]
    return float(winter.doy[0] + crossing(heat[None, :], np.array([[need]]))[0, 0])


def test_gate_weights() -> None:
    found = gate(np.array(MODEL["gate"]["day_length_h"], dtype=float), Rates(gate_h=MODEL["gate"]["gate_h"]))
    assert found == pytest.approx(MODEL["gate"]["weight"], abs=5e-5)


def test_sums_of_heat_and_chill() -> None:
    for year, doy, heat, cold, softened in MODEL["sums"]["rows"]:
        winter = harvard_forest()[year]
        found = [part[winter.doy == doy][0] for part in sums(winter, winter.day_length_h, FILE_RATES)]
        assert found == pytest.approx([heat, cold, softened], abs=6e-4), (year, doy)


@pytest.mark.parametrize(
    ("column", "rates"),
    [("heat_alone", WITHOUT_CHILL), ("with_chill", FILE_RATES)],
    ids=lambda v: str(v)[:10],
)
def test_event_dates(column: str, rates: Rates) -> None:
    events = MODEL["events"]
    for year, expected in zip(events["year"], events[column], strict=True):
        winter = harvard_forest()[year]
        found = event(winter, winter.day_length_h, rates, events["need"])
        assert found == pytest.approx(expected, abs=6e-3), year


@pytest.mark.parametrize(
    ("column", "rates"),
    [("heat_alone", Rates(chill_gain=0.0)), ("with_chill", RATES)],
    ids=lambda v: str(v)[:10],
)
def test_event_dates_by_sunrise_and_sunset(column: str, rates: Rates) -> None:
    # A gate at 12.25 h on the file's day length is the same model as one at 12.40 h on the formula's.
    events = MODEL["events"]
    differences = []
    for year, expected in zip(events["year"], events[column], strict=True):
        winter = harvard_forest()[year]
        found = event(winter, day_length_h(winter.latitude, winter.doy), rates, events["need"])
        differences.append(found - expected)
        print(f"{column} {year}: {found:.2f}, expected {expected}, difference {found - expected:+.2f} d")
    assert np.abs(differences).max() < 0.1


def test_the_file_counts_days_shorter_than_sunrise_to_sunset() -> None:
    # The reason for the two gates: about 0.14 h in spring.
    winter = harvard_forest()[1990]
    spring = (winter.doy >= 60) & (winter.doy <= 120)
    longer = day_length_h(winter.latitude, winter.doy[spring]) - winter.day_length_h[spring]
    assert np.mean(longer) == pytest.approx(0.15, abs=0.02)


def test_warmer_springs_come_earlier_and_by_ever_less() -> None:
    # Published behaviour of the form: +4, +8, +12 degC move the mean date from 126 to about 111, 101 and 93.
    means = []
    for warmer in (0.0, 4.0, 8.0, 12.0):
        dates = []
        for winter in harvard_forest().values():
            shifted = Winter(winter.latitude, winter.doy, winter.t_mean_c + warmer, winter.day_length_h)
            dates.append(event(shifted, winter.day_length_h, WITHOUT_CHILL, 118.0))
        means.append(float(np.mean(dates)))
    print("mean date at +0, +4, +8, +12 degC:", [round(m, 1) for m in means])
    assert means == pytest.approx([126, 111, 101, 93], abs=2.0)
    steps = -np.diff(means)
    assert steps[0] > steps[1] > steps[2] > 0


def test_crossing_finds_ends_insides_and_nothing() -> None:
    heat = np.array([[0.0, 0.0, 4.0, 4.0, 10.0], [1.0, 2.0, 3.0, 4.0, 5.0]])
    need = np.array([[4.0, 7.0, 10.5], [0.5, 1.0, 5.0]])
    assert crossing(heat, need).tolist() == [[2.0, 3.5, np.inf], [-0.5, 0.0, 4.0]]


def test_crossing_and_sum_are_inverse_while_heat_rises() -> None:
    rng = np.random.default_rng(7)
    heat = np.cumsum(rng.uniform(0.1, 5.0, (4, 60)), axis=1)
    labels = rng.uniform(-0.9, 58.9, (4, 3, 5))
    assert crossing(heat, sum_at(heat, labels)) == pytest.approx(labels)


def test_sums_before_the_first_day_are_none_and_after_the_last_the_last() -> None:
    heat = np.array([[1.0, 3.0]])
    assert sum_at(heat, np.array([[-5.0, -1.0, -0.5, 0.5, 1.0, 9.0, np.inf]])).tolist() == [
        [0.0, 0.0, 0.5, 2.0, 3.0, 3.0, 3.0]
    ]


def test_winter_needs_chill_and_seasons_of_light() -> None:
    seasons, none = day_length_h(40.0, np.arange(1, 366)), day_length_h(5.0, np.arange(1, 366))
    assert has_winter(np.array([14.9, 15.0, 120.0]), seasons).tolist() == [False, True, True]
    assert has_winter(np.array([14.9, 15.0, 120.0]), none).tolist() == [False, False, False]


def test_light_shows_no_seasons_within_about_nine_degrees_of_the_equator() -> None:
    # An hour between the longest and the shortest day: a declination of 23.4 deg puts it near 8.5 deg.
    with_seasons = [
        latitude
        for latitude in range(-20, 21)
        if has_winter(np.array([99.0]), day_length_h(latitude, np.arange(1, 366)))[0]
    ]
    assert max(latitude for latitude in with_seasons if latitude < 0) == -9
    assert min(latitude for latitude in with_seasons if latitude > 0) == 9


def test_a_winterless_year_softens_by_half_and_a_cold_one_by_nothing() -> None:
    # By the form of the equation: gain 1 and no chill double the need.
    assert softened_heat(np.array([100.0, 100.0]), np.array([0.0, 1e6])) == pytest.approx([50.0, 100.0])


def test_first_and_last_days_keep_to_their_span() -> None:
    hit = np.array([[True, False, True, True, False], [False] * 5])
    assert first_day(hit, 1, 5).tolist() == [2.0, np.inf]
    assert first_day(hit, -3, 5).tolist() == [0.0, np.inf]
    assert first_day(hit, 4, 9).tolist() == [np.inf, np.inf]
    assert first_day(hit, 4, 2).tolist() == [np.inf, np.inf]
    assert last_day(hit, 0, 5).tolist() == [3.0, np.inf]
    assert last_day(hit, 0, 3).tolist() == [2.0, np.inf]
    assert last_day(hit, 0, 2).tolist() == [0.0, np.inf]
    assert last_day(hit, 1, 2).tolist() == [np.inf, np.inf]


def test_a_curve_falls_only_from_above() -> None:
    curve = np.array([9.0, 12.0, 11.0, 10.0, 8.0, 12.0, 7.0])
    assert falls_below(curve, 10.0, 1, 7) == 3.0
    assert falls_below(curve, 10.0, 0, 7) == np.inf
    assert falls_below(curve, 5.0, 1, 7) == np.inf


def test_trailing_mean_agrees_with_numpy_convolution() -> None:
    values = np.random.default_rng(3).normal(size=(2, 40))
    expected = [np.convolve(row, np.full(7, 1 / 7), mode="valid") for row in values]
    assert trailing_mean(values, 7)[:, 6:] == pytest.approx(np.array(expected))
    assert trailing_mean(values, 60)[:, -1] == pytest.approx(values.mean(axis=1))
