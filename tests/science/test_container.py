"""Root balls: published critical temperatures, and the physics of lag and freezing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.science.container import freezing_degrees, lag_h, root_ball_c, root_heat_dose, wall_c
from tests.oracles.tables import facts

TABLE = facts("container.toml")

lags = st.floats(0.3, 40.0)
temperatures = st.floats(-20.0, 45.0)


def test_growers_lags() -> None:
    for litres, least, most in TABLE["lag"]["rows"]:
        assert least <= float(lag_h(litres)) <= most, litres


@given(lags, temperatures, temperatures)
def test_after_its_lag_it_has_made_63_percent_of_a_step(lag: float, start: float, wall: float) -> None:
    # Newton's law of cooling: 1 - exp(-t / lag) of the step.
    found = root_ball_c(np.full(48, wall), lag, start)
    hours = np.arange(1, 49)
    assert found == pytest.approx(wall + (start - wall) * np.exp(-hours / lag), abs=1e-9)


@pytest.mark.parametrize("lag", [2.0, 6.0, 17.0])
def test_a_daily_wave_is_damped_and_late(lag: float) -> None:
    # First-order lag: amplitude / sqrt(1 + (w lag)^2), late by atan(w lag) / w.
    w = 2.0 * np.pi / 24.0
    wall = 25.0 + 10.0 * np.sin(w * (np.arange(480) + 0.5))
    last = root_ball_c(wall, lag, 25.0)[-24:]
    assert (last.max() - last.min()) / 2.0 == pytest.approx(10.0 / np.hypot(1.0, w * lag), rel=0.02)
    peak_end = int(last.argmax()) + 1
    assert peak_end == pytest.approx(6.0 + np.arctan(w * lag) / w, abs=0.6)


def test_freezing_waits_for_its_heat() -> None:
    # A thaw point of ice: at -5 degC and a lag of 6 h a ball loses 5 x (1 - exp(-1 / 6)) degrees an hour.
    held = float(freezing_degrees(0.3))
    found = root_ball_c(np.full(200, -5.0), 6.0, 0.001, held)
    frozen = int((found == 0.0).sum())
    assert frozen == pytest.approx(held / (5.0 * -np.expm1(-1.0 / 6.0)), abs=1.5)
    assert found[-1] == pytest.approx(-5.0, abs=0.1)
    assert root_ball_c(np.full(200, -5.0), 6.0, 0.001)[0] < 0.0


def test_wet_substrate_holds_the_heat_of_its_ice() -> None:
    # Water alone: 334 J/g of fusion over 4.19 J/(g K), CRC Handbook.
    assert float(freezing_degrees(1e9)) == pytest.approx(334.0 / 4.19, rel=1e-3)
    assert float(freezing_degrees(0.0)) == 0.0
    assert 40.0 < float(freezing_degrees(0.3)) < 60.0


def test_a_frozen_ball_thaws_late() -> None:
    wet, dry = (root_ball_c(np.full(72, 8.0), 6.0, -3.0, held) for held in (50.0, 0.0))
    assert np.all(wet <= dry + 1e-9)
    assert np.all(wet[4:10] == 0.0)


@given(lags, temperatures, st.floats(0.0, 60.0))
def test_it_stays_between_its_start_and_its_wall(lag: float, start: float, held: float) -> None:
    wall = 10.0 + 25.0 * np.sin(np.arange(72))
    found = root_ball_c(wall, lag, start, held)
    assert found.min() >= min(float(wall.min()), start) - 1e-9
    assert found.max() <= max(float(wall.max()), start) + 1e-9


@given(lags, st.floats(0.0, 60.0), st.integers(1, 71))
def test_a_run_can_be_broken_off_above_freezing_and_go_on(lag: float, held: float, at: int) -> None:
    wall = 20.0 + 15.0 * np.sin(np.arange(72) / 4.0)
    whole = root_ball_c(wall, lag, 15.0, held)
    rest = root_ball_c(wall[at:], lag, float(whole[at - 1]), held)
    assert rest == pytest.approx(whole[at:])


def test_pots_members_and_hours_broadcast() -> None:
    wall = wall_c(np.full((20, 30), 30.0), 800.0, np.array([12.0, 18.0, 25.0])[:, None, None])
    assert wall[:, 0, 0].tolist() == pytest.approx([39.6, 44.4, 50.0])
    found = root_ball_c(wall, np.array([1.0, 6.0, 17.0])[:, None], 20.0)
    assert found.shape == (3, 20, 30)
    assert np.all(found[0, :, 5] > found[2, :, 5])


def test_the_published_line_of_heat() -> None:
    for minutes, critical_c in TABLE["critical"]["rows"]:
        dose = root_heat_dose(np.array([critical_c]))  # one hour at it
        assert float(dose) == pytest.approx(60.0 / minutes, rel=0.02), minutes


@given(st.floats(30.0, 55.0), st.integers(1, 48))
def test_doses_add_up_and_tougher_roots_bear_more(t_c: float, hours: int) -> None:
    whole = float(root_heat_dose(np.full(hours, t_c)))
    assert whole == pytest.approx(hours * float(root_heat_dose(np.array([t_c]))))
    tougher = float(root_heat_dose(np.full(hours, t_c), critical_c=52.6, per_tenfold_c=5.9))  # Ilex vomitoria
    assert tougher < whole or whole == 0.0


def test_a_warm_fortnight_kills_no_roots() -> None:
    assert root_heat_dose(np.full(14 * 24, 39.0)) == 0.0
    each = root_heat_dose(np.full((2, 5), 43.9), np.array([51.0, 52.6]), np.array([7.1, 5.9]))
    assert each.shape == (2,)
    assert each[1] < each[0]
