"""What must hold of the stage model whatever the weather."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from calendar_core.science.year.daylight import day_length_h
from calendar_core.science.year.stages import chill, crossing, forcing, softened_heat

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

N_DAYS = 150
SOLSTICE = 355  # 21 December, from which heat counts in the north
HALF_YEAR = (
    184  # days by which southern seasons of light lag the northern, between 182 (solstice) and 186 (equinox)
)

weathers = arrays(np.float64, N_DAYS, elements=st.floats(-25.0, 35.0))
rises = arrays(np.float64, N_DAYS, elements=st.floats(0.0, 12.0))
latitudes = st.floats(10.0, 65.0)
ln_needs = st.floats(3.0, 6.5)  # ln F of the woody species observed at Harvard Forest


def softened(t_mean_c: Floats, day_length: Floats, chill_sum: Floats) -> Floats:
    return softened_heat(np.cumsum(forcing(t_mean_c, day_length)), chill_sum)


def label(heat: Floats, ln_need: float) -> float:
    return float(crossing(heat[None, :], np.array([[np.exp(ln_need)]]))[0, 0])


def light(latitude: float) -> Floats:
    return day_length_h(latitude, SOLSTICE + np.arange(N_DAYS))


@given(weathers, rises, latitudes, ln_needs)
def test_warming_any_day_never_delays_with_chill_held(
    weather: Floats, rise: Floats, latitude: float, ln_need: float
) -> None:
    chill_sum = np.cumsum(chill(weather))
    as_was = label(softened(weather, light(latitude), chill_sum), ln_need)
    warmed = label(softened(weather + rise, light(latitude), chill_sum), ln_need)
    assert warmed <= as_was + 1e-9


@given(weathers, latitudes, ln_needs, st.floats(0.0, 2.0))
def test_a_larger_need_never_comes_earlier(
    weather: Floats, latitude: float, ln_need: float, more: float
) -> None:
    heat = softened(weather, light(latitude), np.cumsum(chill(weather)))
    assert label(heat, ln_need + more) >= label(heat, ln_need)


@given(weathers, latitudes)
def test_the_softened_sum_never_falls(weather: Floats, latitude: float) -> None:
    heat = softened(weather, light(latitude), np.cumsum(chill(weather)))
    assert np.all(np.diff(heat) >= -1e-9)


@given(weathers, latitudes, ln_needs, st.integers(1, N_DAYS - 1))
def test_splitting_and_resuming_a_series_changes_nothing(
    weather: Floats, latitude: float, ln_need: float, cut: int
) -> None:
    whole = softened(weather, light(latitude), np.cumsum(chill(weather)))
    heat_sum, chill_sum, parts = 0.0, 0.0, []
    for part in (slice(0, cut), slice(cut, None)):
        heat = heat_sum + np.cumsum(forcing(weather[part], light(latitude)[part]))
        cold = chill_sum + np.cumsum(chill(weather[part]))
        heat_sum, chill_sum = float(heat[-1]), float(cold[-1])
        parts.append(softened_heat(heat, cold))
    resumed = np.concatenate(parts)
    assert resumed == pytest.approx(whole, abs=1e-8)
    needs = np.exp([[ln_need]])
    assert np.isfinite(crossing(resumed[None, :], needs * 0.999)) >= np.isfinite(
        crossing(whole[None, :], needs)
    )
    if np.isfinite(label(whole, ln_need)):
        reached = label(whole, ln_need)
        assert np.interp(reached, np.arange(N_DAYS), resumed) == pytest.approx(np.exp(ln_need), rel=1e-9)


@given(weathers, weathers, latitudes, ln_needs)
def test_weather_after_the_event_does_not_matter(
    weather: Floats, other: Floats, latitude: float, ln_need: float
) -> None:
    came = label(softened(weather, light(latitude), np.cumsum(chill(weather))), ln_need)
    if np.isfinite(came):
        after = np.arange(N_DAYS) > came + 1
        mixed = np.where(after, other, weather)
        assert label(softened(mixed, light(latitude), np.cumsum(chill(mixed))), ln_need) == pytest.approx(
            came
        )


@given(st.floats(20.0, 55.0), st.floats(4.0, 14.0), st.floats(8.0, 15.0), st.floats(3.8, 5.3))
def test_a_mirrored_southern_year_gives_the_northern_answer(
    latitude: float, mean_c: float, amplitude_c: float, ln_need: float
) -> None:
    days = np.arange(220)
    weather = mean_c - amplitude_c * np.cos(2 * np.pi * (days - 25) / 365.25)
    chill_sum = np.cumsum(chill(weather))
    north = day_length_h(latitude, SOLSTICE + days)
    south = day_length_h(-latitude, SOLSTICE + HALF_YEAR - 365 + days)
    northern, southern = (label(softened(weather, part, chill_sum), ln_need) for part in (north, south))
    assert np.isfinite(northern)
    assert abs(southern - northern) <= 2.0
