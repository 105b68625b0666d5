"""Root balls: exact solutions of conduction and of freezing, the balance of heat, and published critical temperatures."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import j0, j1, jn_zeros

from calendar_core.science.hour.container import (
    EDGES,
    FILM_W_M2_K,
    Ball,
    Soil,
    around_c,
    heat_at,
    night_chill_c,
    radius_m,
    root_ball,
    root_heat_dose,
    wet_soil,
)
from tests.oracles.tables import facts

if TYPE_CHECKING:
    from numpy.typing import NDArray

TABLE = facts("container.toml")
DRY = Soil(0.4, 0.4, 2.1e6, 2.1e6, 0.0)  # nothing in it freezes
WET = wet_soil(0.35)
MIX = Soil(0.5, 0.9, 2.4e6, 1.6e6, 1.169e8)

temperatures = st.floats(-20.0, 45.0)
litres = st.floats(0.1, 30.0)
depths = st.floats(0.25, 1.2)


def run(
    around: object, width: float, height: float = np.inf, soil: Soil = DRY, start: float = 0.0, **more: Any
) -> Ball:
    """Run one ball through air that is one course (n_hours,) or several (n_members, n_hours)."""
    air = np.atleast_2d(np.asarray(around, dtype=np.float64))[None]
    return root_ball(air, np.array([width / 2.0]), np.array([height]), soil, heat_at(start, soil), **more)


def pot(volume: float, depth: float) -> tuple[float, float]:
    """Return width and height."""
    width = 2.0 * float(radius_m(volume, depth))
    return width, depth * width


def fine(shells: int) -> NDArray[np.float64]:
    return np.linspace(0.0, 1.0, shells + 1)


def cylinder(bi: float, fo: float, n: int = 60) -> float:
    """Return what is left of a step in the middle of an infinite cylinder (Carslaw & Jaeger 1959, chapter 7)."""
    ends = np.concatenate(
        [[0.0], jn_zeros(1, n)]
    )  # z J1(z) - Bi J0(z) changes its sign once between zeros of J1
    roots = np.array(
        [brentq(lambda z: z * j1(z) - bi * j0(z), a + 1e-9, b - 1e-9) for a, b in pairwise(ends)]
    )
    weights = 2.0 * j1(roots) / (roots * (j0(roots) ** 2 + j1(roots) ** 2))
    return float((weights * np.exp(-(roots**2) * fo)).sum())


def slab(bi: float, fo: float, n: int = 60) -> float:
    """Return the same of the middle of a slab (Carslaw & Jaeger 1959, chapter 3)."""
    roots = np.array(
        [
            brentq(lambda z: z * np.sin(z) - bi * np.cos(z), k * np.pi + 1e-9, k * np.pi + np.pi / 2.0)
            for k in range(n)
        ]
    )
    weights = 4.0 * np.sin(roots) / (2.0 * roots + np.sin(2.0 * roots))
    return float((weights * np.exp(-(roots**2) * fo)).sum())


@pytest.mark.parametrize("bi", [0.5, 1.0, 2.0, 5.0, 10.0])
@pytest.mark.parametrize("hours", [3, 5, 12])
def test_a_cylinder_follows_a_step_as_in_its_series(bi: float, hours: int) -> None:
    width, film = 0.2, bi * 0.4 / 0.1
    exact = cylinder(bi, 0.4 / 2.1e6 * 3600.0 * hours / 0.01)
    for edges, off in ((fine(24), 0.004), (EDGES, 0.025)):
        found = run(np.zeros(hours), width, start=1.0, edges=edges, film_w_m2_k=film, steps=240)
        assert found.middle[0, 0, -1] == pytest.approx(exact, abs=off), len(edges)


def test_the_series_are_those_that_are_published() -> None:
    """Heisler's charts as computed with 60 roots, middle: Bi, Fo, and what is left of a step."""
    for bi, fo, left in ((0.5, 0.5, 0.71575), (1.0, 0.2, 0.87017), (2.0, 0.5, 0.3724), (10.0, 0.2, 0.60023)):
        assert cylinder(bi, fo) == pytest.approx(left, abs=1e-5)
    for bi, fo, left in ((1.0, 0.5, 0.77253), (1.0, 1.0, 0.53386), (2.0, 0.5, 0.65962)):
        assert slab(bi, fo) == pytest.approx(left, abs=1e-5)


def test_a_wide_hollow_cylinder_is_a_slab() -> None:
    """Bi = h L / k and Fo = a t / L2 of the half thickness, here 0.1 m, the middle of the slab on the inside."""
    edges = 1.0 - 0.1 / 50.0 * np.linspace(1.0, 0.0, 25)
    found = run(np.zeros(12), 100.0, start=1.0, edges=edges, film_w_m2_k=4.0, steps=240)
    for hours in (3, 12):
        exact = slab(1.0, 0.4 / 2.1e6 * 3600.0 * hours / 0.01)
        assert found.middle[0, 0, hours - 1] == pytest.approx(exact, abs=0.004)


@pytest.mark.parametrize(("width", "height", "hours"), TABLE["pots"]["rows"])
def test_pots_follow_a_step(width: float, height: float, hours: float) -> None:
    """The table is right by the series, and three shells are within a tenth of it."""
    a = 0.4 / 2.1e6 * 3600.0
    left = [
        cylinder(8.0 * width / 0.8, a * of / (width / 2) ** 2)
        * slab(8.0 * height / 0.8, a * of / (height / 2) ** 2)
        for of in (hours - 0.02, hours + 0.02)
    ]
    assert left[1] < 0.37 < left[0] + 0.002
    found = run(np.zeros(30), width, height, start=1.0)
    at = np.interp(1.0, -np.log(np.append(1.0, found.middle[0, 0])), np.arange(31.0))  # nearly straight
    assert at == pytest.approx(hours, rel=0.1)


@pytest.mark.parametrize(("width", "height", "air_c", "through", "wall_2"), TABLE["frozen"]["rows"])
def test_pots_freeze(width: float, height: float, air_c: float, through: float, wall_2: float) -> None:
    """Within a tenth, and an hour for the hours we look at; the wall by two fifths: its frost comes in three steps."""
    found = run(np.full(60, air_c), width, height, MIX, start=4.0)
    assert int((found.middle[0, 0] < 0.0).argmax()) + 1 == pytest.approx(through, rel=0.1, abs=1.0)
    if (width, air_c) != (0.4, -10):  # there the surface, frozen an inch deep, is at -2 degC four hours late
        assert int((found.wall[0, 0] <= -2.0).argmax()) + 1 == pytest.approx(wall_2, rel=0.4, abs=1.0)


@pytest.mark.parametrize(
    ("ks", "cs", "kl", "cl", "fusion", "ts", "ti", "root", "depth_mm"), TABLE["neumann"]["rows"]
)
def test_a_half_space_freezes_as_neumann_has_it(
    ks: float,
    cs: float,
    kl: float,
    cl: float,
    fusion: float,
    ts: float,
    ti: float,
    root: float,
    depth_mm: float,
) -> None:
    """A wide hollow cylinder of 5 mm shells whose wall is held at a temperature."""
    assert 2e3 * root * np.sqrt(ks / cs * 6.0 * 3600.0) == pytest.approx(depth_mm, rel=1e-3)
    soil = Soil(kl, ks, cl, cs, fusion)
    edges = 1.0 - 0.4 / 50.0 * np.linspace(1.0, 0.0, 81)
    air = np.full((1, 1, 6), ts)
    start = np.full((1, 1, 1), ti * cl)  # all water, also at 0 degC
    held = root_ball(
        air, np.array([50.0]), np.array([np.inf]), soil, start, edges=edges, film_w_m2_k=1e6
    ).heat
    frozen = np.clip(-held[0, :, 0] / fusion, 0.0, 1.0).sum() * 5.0
    assert frozen == pytest.approx(depth_mm, rel=0.02)


@pytest.mark.slow
def test_freezing_takes_the_heat_of_its_ice() -> None:
    """A ball that conducts well rests at 0 degC for V L / (h A dT): its heat of fusion over what its wall loses."""
    soil = Soil(200.0, 200.0, 2.1e6, 1.3e6, 116.9e6)
    radius = 0.032
    for air_c in (-1.0, -9.0):
        rests_h = 116.9e6 * radius / 2.0 / (FILM_W_M2_K * -air_c) / 3600.0
        hours, steps = int(1.5 * rests_h) + 6, 12000 if air_c < -5 else 6000
        found = run(np.full(hours, air_c), 2 * radius, soil=soil, start=0.001, steps=steps)
        assert found.middle[0, 0, -1] < -1e-3  # the rest is over within the run
        assert float((found.middle[0, 0] > -1e-3).sum()) == pytest.approx(rests_h, abs=1.5)


def test_a_small_pot_is_nearly_as_cold_as_a_long_frost() -> None:
    """Through 12 h at -9 degC from +2: 0.2 L are frozen through after 6 h (see the table), and half as much again."""
    found = run(np.full(12, -9.0), 0.0634, 0.0634, WET, start=2.0)
    assert -9.0 < found.middle[0, 0, -1] < -8.0


def test_wet_substrate_holds_the_heat_of_its_ice() -> None:
    # Water alone: 334 J/g of fusion and 4.19 J/(g K), CRC Handbook; ice has half the heat of water.
    water, dry = wet_soil(1.0), wet_soil(0.0)
    assert float(water.fusion) == pytest.approx(334e6)
    assert float(water.heat) - float(dry.heat) == pytest.approx(4.19e6)
    assert 0.4 < (float(water.heat_frozen) - float(dry.heat)) / 4.19e6 < 0.5
    assert float(heat_at(0.0, water).item()) == pytest.approx(-334e6)
    assert float(heat_at(2.0, water).item()) == pytest.approx(2.0 * float(water.heat))


@given(st.lists(st.floats(-15.0, 30.0), min_size=3, max_size=3), st.floats(0.0, 1.0))
def test_no_heat_is_lost_between_shells(shells: list[float], ice: float) -> None:
    """Without a film nothing leaves a ball: what it holds stays the same, ice or not (calorimetry)."""
    held = heat_at(np.array(shells)[None, :, None], WET) + ice * 1e6
    volume = np.diff(EDGES**2)[None, :, None]
    found = root_ball(
        np.full((1, 1, 72), -9.0), np.array([0.05]), np.array([0.1]), WET, held, film_w_m2_k=0.0
    )
    before, after = float((held * volume).sum()), float((found.heat * volume).sum())
    assert after == pytest.approx(before, rel=1e-9, abs=1e-3)


@given(st.lists(temperatures, min_size=1, max_size=30), temperatures)
def test_heat_that_passes_the_wall_is_what_the_ball_holds_more(air: list[float], start: float) -> None:
    """By Newton's law of cooling at the wall, hour by hour, in a cylinder."""
    radius, before = 0.3, heat_at(start, WET)
    held = np.broadcast_to(before, (1, 3, 1))
    volume = np.diff(EDGES**2)[None, :, None]
    for outside in air:
        still = _wall(outside, held, radius)
        after = root_ball(
            np.full((1, 1, 1), outside), np.array([radius]), np.array([np.inf]), WET, held, steps=1
        )
        given_j = FILM_W_M2_K * (outside - still) * 2.0 / radius * 3600.0  # of a cubic metre
        assert float(((after.heat - held) * volume).sum()) == pytest.approx(given_j, rel=1e-6, abs=1e-2)
        held = after.heat


def _wall(outside: float, held: NDArray[np.float64], radius: float) -> float:
    """Return a wall's temperature before an hour: that of an hour in which nothing has time to pass."""
    air, size = np.full((1, 1, 1), outside), np.array([radius])
    slow = Soil(WET.conducts, WET.conducts_frozen, 1e9 * WET.heat, 1e9 * WET.heat_frozen, 1e9 * WET.fusion)
    return float(root_ball(air, size, np.array([np.inf]), slow, 1e9 * held, steps=1).wall.item())


@given(litres, depths, st.lists(temperatures, min_size=2, max_size=60), temperatures, st.floats(0.0, 10.0))
def test_colder_air_never_makes_a_ball_warmer(
    volume: float, depth: float, air: list[float], start: float, colder: float
) -> None:
    found = run(np.array(air) - np.array([[0.0], [colder]]), *pot(volume, depth), WET, start=start)
    for of in found[:2]:
        assert np.all(of[0, 1] <= of[0, 0] + 1e-9)


@given(litres, st.floats(1.1, 5.0), depths, st.floats(-15.0, 3.0), st.floats(0.1, 15.0), st.integers(4, 14))
def test_a_bigger_pot_is_never_colder_after_one_night(
    volume: float, more: float, depth: float, night: float, start: float, hours: int
) -> None:
    air = np.linspace(start, night, hours)
    small, big = (run(air, *pot(of, depth), WET, start=start, steps=120) for of in (volume, more * volume))
    assert big.middle.min() >= small.middle.min() - 1e-6


@given(litres, depths, temperatures, st.floats(0.0, 0.6))
def test_it_stays_between_its_start_and_the_air(
    volume: float, depth: float, start: float, water: float
) -> None:
    air = 10.0 + 25.0 * np.sin(np.arange(72))
    found = run(air, *pot(volume, depth), wet_soil(water), start=start)
    for of in found[:2]:
        assert of.min() >= min(float(air.min()), start) - 1e-6
        assert of.max() <= max(float(air.max()), start) + 1e-6


@pytest.mark.slow
@given(st.floats(0.5, 30.0), depths, st.integers(1, 71))
def test_a_run_can_be_broken_off_and_go_on(volume: float, depth: float, at: int) -> None:
    air = 2.0 + 10.0 * np.sin(np.arange(72) / 4.0)
    size = pot(volume, depth)
    whole, first = (run(of, *size, WET, start=1.0, steps=30) for of in (air, air[:at]))
    shape = np.array([size[0] / 2.0]), np.array([size[1]])
    rest = root_ball(air[None, None, at:], *shape, WET, first.heat, steps=30)
    assert rest.middle[0, 0] == pytest.approx(whole.middle[0, 0, at:], abs=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("volume", [0.2, 1.0, 3.0, 15.0])
def test_its_steps_are_small_enough(volume: float) -> None:
    """Against steps of ten seconds, through frosts and thaws: half a degree."""
    air = 1.0 + 9.0 * np.sin(2.0 * np.pi * np.arange(96) / 24.0)
    for depth in (0.3, 1.0):
        usual, small = (run(air, *pot(volume, depth), WET, start=3.0, steps=of) for of in (None, 360))
        assert usual.middle == pytest.approx(small.middle, abs=0.6)
        assert usual.wall == pytest.approx(small.wall, abs=0.6)


def test_pots_members_and_hours_broadcast() -> None:
    air = around_c(np.full((20, 30), 30.0), 800.0, np.array([12.0, 18.0, 25.0])[:, None, None])
    assert air[:, 0, 0].tolist() == pytest.approx([39.6, 44.4, 50.0])
    radius = radius_m(np.array([0.2, 3.0, 30.0]), 0.5)
    soil = wet_soil(np.array([0.3, 0.4, 0.5]))
    found = root_ball(air, radius, radius, soil, heat_at(20.0, soil))
    assert found.middle.shape == found.wall.shape == (3, 20, 30)
    assert np.all(found.middle[0, :, 1] > found.middle[1, :, 1])
    assert np.all(found.wall[..., :5] > found.middle[..., :5])
    alone = root_ball(air[1:2], radius[1:2], radius[1:2], wet_soil(0.4), heat_at(20.0, wet_soil(0.4)))
    assert found.middle[1] == pytest.approx(alone.middle[0])


def test_a_wall_under_a_clear_sky_is_colder_than_the_air() -> None:
    """60 W/m2 are lost by a clear night; growers see pots some degrees colder in still air, hardly so in wind."""
    still, windy = (float(night_chill_c(60.0, wind)) for wind in (0.0, 4.0))
    assert 4.0 < still < 10.0
    assert windy < still / 2.0
    assert night_chill_c(0.0, 1.0) == 0.0


def test_the_published_line_of_heat() -> None:
    for minutes, critical_c in TABLE["critical"]["rows"]:
        dose = root_heat_dose(np.array([critical_c]))  # one hour at it
        assert float(dose.sum()) == pytest.approx(60.0 / minutes, rel=0.02), minutes


@given(st.floats(30.0, 55.0), st.integers(1, 48))
def test_doses_add_up_and_tougher_roots_bear_more(t_c: float, hours: int) -> None:
    whole = float(root_heat_dose(np.full(hours, t_c)).sum())
    assert whole == pytest.approx(hours * float(root_heat_dose(np.array([t_c])).sum()))
    tougher = float(root_heat_dose(np.full(hours, t_c), 52.6, 5.9).sum())  # Ilex vomitoria
    assert tougher < whole or whole == 0.0


def test_a_warm_fortnight_kills_no_roots() -> None:
    assert root_heat_dose(np.full(14 * 24, 39.0)).sum() == 0.0
    each = root_heat_dose(np.full((2, 5), 43.9), np.array([51.0, 52.6]), np.array([7.1, 5.9])).sum(axis=-1)
    assert each.shape == (2,)
    assert each[1] < each[0]
