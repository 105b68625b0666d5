"""Shade: up before the hot days, down after them, and what gives it without a cloth."""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.planning.places.chances import ChanceLine
from calendar_core.planning.places.moves import Never
from calendar_core.planning.places.shade import ShadeMove, shade_move, shaded_spot
from tests.planning.made_up import knowledge
from tests.planning.places.made_places import AXIS, OPEN, RULES, chances, with_forecast, years

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calendar_core.garden.model import Spot

    Floats = NDArray[np.float64]

HOT = ChanceLine("heat", 30.0)
WARM = years(mean_c=13.0, swing_c=10.0)  # maxima of 28 degC in the mean of the hottest days
SPRING = AXIS.midwinter(2015) + 90
HEIGHT = AXIS.midsummer(2015) + 30
AHEAD, STAY = int(RULES.ahead_days.value), int(RULES.stay_days.value)
RISK = RULES.risk["heat"]


def move(
    today: int,
    mean_c: Floats = WARM,
    *,
    shaded: bool,
    forecast_days: int = 0,
    opened: tuple[float, NDArray[np.bool_]] | None = None,
) -> ShadeMove | Never:
    known = chances(mean_c, today=today, forecast_days=forecast_days)
    return shade_move(HOT.at_c, opened, known, RULES, shaded=shaded)


def comes(found: ShadeMove | Never) -> ShadeMove:
    assert isinstance(found, ShadeMove), found
    return found


def test_up_before_hot_days_come_often_and_down_when_they_are_rare() -> None:
    usual = chances(WARM, today=SPRING).usual(HOT, "open")
    up, down = comes(move(SPRING, shaded=False)), comes(move(HEIGHT, shaded=True))
    assert usual[up.by - 1] <= RISK.into < usual[up.by]
    assert up.opens == up.by - AHEAD
    assert up.by < HEIGHT < down.opens
    assert usual[down.opens - 1] > RISK.out_of
    assert (usual[down.opens : down.opens + STAY] <= RISK.out_of).all()


@given(st.floats(-3.0, 3.0), st.floats(0.1, 3.0))
@settings(max_examples=15, deadline=None)
def test_hotter_air_never_brings_later_shade(shift_c: float, by_c: float) -> None:
    cool, warm = (move(SPRING, WARM + off, shaded=False) for off in (shift_c, shift_c + by_c))
    if isinstance(cool, ShadeMove):
        assert comes(warm).by <= cool.by


def test_where_it_is_never_or_always_hot_nothing_is_asked() -> None:
    assert move(SPRING, WARM - 15.0, shaded=False) == Never("never_hot")
    assert move(SPRING, np.full_like(WARM, 32.0), shaded=True) == Never("always_hot")


def test_hot_days_forecast_shortly_before_the_season_bring_it_forward_and_lone_ones_do_not() -> None:
    usual = comes(move(SPRING, shaded=False)).by
    for before, is_called in ((7, True), (60, False)):
        today = usual - before
        hot = with_forecast(WARM, today, [30.0] * 3)  # maxima of 35 degC
        found = comes(move(today, hot, shaded=False, forecast_days=3))
        assert (found.by == today) == is_called
        assert found.forecast == is_called


def test_shade_is_not_put_up_for_the_last_days_of_summer() -> None:
    """Common practice: a cloth is hung for weeks; it is asked for in time, late while weeks of heat are left, then no more."""
    usual = chances(WARM, today=HEIGHT).usual(HOT, "open")
    end = HEIGHT + int((usual[HEIGHT:] <= RISK.into).argmax())
    assert comes(move(end - 40, shaded=False)).overdue is not None
    for today in range(end - STAY + 1, end + 1):
        found = move(today, shaded=False)
        assert isinstance(found, Never) or found.by > end + 180


def test_it_is_not_taken_down_within_a_week_of_a_hot_day() -> None:
    """Common practice: heat comes back."""
    usual = comes(move(HEIGHT, shaded=True)).opens
    today = usual + 5
    cool = WARM.copy()
    cool[:, today - 30 : today] = 15.0
    hot = cool.copy()
    hot[:, today - 2] = 28.0  # a maximum of 33 degC was measured
    assert comes(move(today, cool, shaded=True)).opens <= today
    assert comes(move(today, hot, shaded=True)).opens >= today - 2 + 7


def test_leaves_opened_to_the_sun_ask_for_shade_sooner_and_keep_it() -> None:
    usual = comes(move(SPRING, shaded=False)).by
    held = np.zeros(AXIS.n_days, bool)
    held[SPRING : SPRING + 60] = True
    opened = comes(move(SPRING, shaded=False, opened=(24.0, held)))
    assert opened.opened
    assert opened.by < usual
    today = HEIGHT + 90
    held[today : today + 20] = True
    assert comes(move(today, shaded=True, opened=(24.0, held))).opens >= today + 20


@pytest.mark.parametrize(
    ("spot", "shaded"),
    [
        (replace(OPEN, cloth_percent=40), True),
        (replace(OPEN, cloth_percent=10), False),
        (replace(OPEN, sun_from=time(7), sun_to=time(11)), True),  # morning sun, as maples have it
        (replace(OPEN, sun_from=time(13), sun_to=time(17)), False),
        (OPEN, False),
        (None, False),
    ],
)
def test_a_maple_under_cloth_or_in_morning_sun_needs_none(spot: Spot | None, shaded: bool) -> None:
    """Morning sun of 3 to 6 hours and cloth of 30 to 50 % are what growers give Japanese maples (common practice)."""
    assert shaded_spot(spot, knowledge().profiles["acer-palmatum"]) == shaded
