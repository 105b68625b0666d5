"""Water and roots of pots: worked cases, and what must hold of any."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from alerts.hazards.block import Block
from alerts.hazards.place import weather_at
from alerts.hazards.stand import Pot, Stand
from tests.alerts.hazards.gardens import GREENSBORO, RULES, made, spot, threats, tree, year_hours

JULY = year_hours(GREENSBORO, 7, 8, 3)


def block(*stands: Stand, hours: object = JULY) -> Block:
    return Block(stands, weather_at([stands[0].spot], hours, GREENSBORO, RULES)[stands[0].spot])  # type: ignore[arg-type]


def test_a_days_demand_is_that_of_grass_under_its_crown() -> None:
    """FAO-56 by another library: 6.29 mm on 9 July in the open (pyet 1.5.0, tests/oracles/evaporation.toml)."""
    windy = spot(wind="windy")
    stand = replace(tree("acer-palmatum", windy, watered_h=(0.0,)), drinks_m2=0.1)
    found = block(stand).used[0, 0] * stand.pot.litres * stand.pot.easy_share
    assert found[47] == pytest.approx(0.1 * 6.29, rel=0.1)


def test_watering_fills_the_pot_and_rain_gives_half() -> None:
    stand = replace(tree("acer-palmatum", watered_h=(7.0, 15.0)), pot=Pot(1.0, 9.0, 0.2, 0.4, 0.3))
    used = block(stand).used[0, 0]
    assert used[14] > 2.0
    assert used[15] < 0.3
    rain = np.zeros_like(JULY.t_c)
    rain[0, 12] = 4.0
    wet = block(stand, hours=replace(JULY, rain_mm=rain)).used[0, 0]
    mouth_m2 = np.pi / 4.0 * (0.001 / (np.pi / 4.0 * 0.3)) ** (2.0 / 3.0)
    assert used[12] - wet[12] == pytest.approx(0.5 * 4.0 * mouth_m2 / 0.2)
    assert wet[:12] == pytest.approx(used[:12])


def test_a_cloudburst_fills_it_to_the_brim_only() -> None:
    rain = np.zeros_like(JULY.t_c)
    rain[0, 12] = 1000.0
    stand = tree("acer-palmatum", watered_h=())
    used = block(stand, hours=replace(JULY, rain_mm=rain)).used[0, 0]
    assert used[12] == 0.0
    assert used[13] > 0.0
    assert used[11] > used[13]


@given(st.floats(0.2, 10.0), st.floats(1.1, 5.0))
def test_a_bigger_pot_dries_later(litres: float, more: float) -> None:
    small, big = (tree("ulmus-parvifolia", pot_litres=of) for of in (litres, more * litres))
    used = block(small, big).used
    assert np.all(used[1] <= used[0] + 1e-9)
    empties = [float(np.argmax(of >= 1.0)) if (of >= 1.0).any() else np.inf for of in used[:, 0]]
    assert empties[1] >= empties[0]


def test_drying_counts_from_the_watering_to_the_evening() -> None:
    stand = tree("acer-palmatum", pot_litres=0.5, watered_h=(8.0,))
    (first, *_) = threats(stand, JULY, GREENSBORO, "drying")
    local = [one.astimezone(GREENSBORO.zone) for one in (first.begins, first.ends)]
    assert 9 <= local[0].hour < local[1].hour == 19
    assert first.typical == pytest.approx(float(block(stand).used[0, 0, 18]))


def test_a_pot_empty_before_noon_is_a_danger() -> None:
    for litres in (0.1, 0.2, 0.3, 0.5, 1.0):
        stand = tree("acer-palmatum", spot(wind="windy"), pot_litres=litres)
        used = block(stand).used[0, 0, 24:48]
        (one, *_) = [t for t in threats(stand, JULY, GREENSBORO, "drying") if t.day.day == 9]
        if used[11] >= 1.0:
            assert one.typical >= one.danger, litres


@given(st.floats(0.2, 12.0), st.floats(1.2, 4.0))
def test_a_bigger_pot_is_cooler_by_day_and_warmer_by_night(litres: float, more: float) -> None:
    small, big = (tree("pinus-thunbergii", pot_litres=of) for of in (litres, more * litres))
    for ball in block(small, big).ball[:2]:
        assert ball[1, 0, 24:].max() <= ball[0, 0, 24:].max() + 1e-6
        assert ball[1, 0, 24:].min() >= ball[0, 0, 24:].min() - 1e-6


def test_pots_in_the_sun_are_as_warm_as_growers_measure() -> None:
    """Air plus 5 to 15 degC for dark pots (common practice), for small ones in the afternoon."""
    black = tree("acer-palmatum", pot_litres=1.0, pot="black plastic")
    above = block(black).ball.middle[0, 0] - JULY.t_c[0]
    assert 5.0 <= above.max() <= 15.0
    pale, brown = (
        float(block(tree("acer-palmatum", pot=of)).ball.middle.max()) for of in ("light glazed", "unglazed")
    )
    assert pale < brown


def test_the_ground_keeps_roots_warmer_at_night() -> None:
    """Reported up to 4 degC warmer than on a bench (common practice)."""
    cold = year_hours(GREENSBORO, 2, 3, 3)
    bench, ground = (
        float(block(tree("acer-palmatum", spot(surface=of), foliage="none"), hours=cold).ball.middle.min())
        for of in ("bench", "ground")
    )
    assert 0.5 < ground - bench < 4.0


def test_soil_dries_more_slowly_in_a_frame() -> None:
    hours = made(JULY.start + timedelta(0), t_c=np.full((1, 24), 15.0), sunlight_w_m2=100.0)
    out, under = (tree("acer-palmatum", where) for where in (spot(), spot(profile="cold frame")))
    assert block(under, hours=hours).used[0, 0, -1] < block(out, hours=hours).used[0, 0, -1]
