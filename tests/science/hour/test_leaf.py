"""Leaf temperature against published and independent solutions (tests/oracles/leaf.toml), and what must hold of any leaf."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from calendar_core.science.hour.humidity import saturation_kpa, vapour_kpa
from calendar_core.science.hour.leaf import absorbed_w_m2, conductances, leaf_temperature_c, sky_emissivity
from tests.oracles.tables import facts
from tests.science.engineering_leaf import Surroundings, fluxes, t_leaf
from tests.science.greensboro import greensboro

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

TABLE = facts("leaf.toml")

airs = st.floats(0.0, 42.0)
nights = st.floats(-10.0, 25.0)
humidities = st.floats(10.0, 95.0)
suns = st.floats(0.0, 1100.0)
winds = st.floats(0.3, 8.0)
widths = st.floats(0.002, 0.15)
openings = st.floats(0.003, 0.5)


def leaf(
    t_c: Any,
    humidity: Any,
    sun: Any,
    wind: Any,
    width: Any = 0.05,
    stomata: Any = 0.05,
    *,
    albedo: float = 0.2,
    sky: Any = 1.0,
    cloud: float = 0.0,
    upper_share: float = 0.0,
    least_wind_ms: float = 0.0,
    **more: Any,
) -> Floats:
    """Return a leaf's temperature [degC] from the weather around it."""
    vapour = vapour_kpa(t_c, humidity)
    absorbed = absorbed_w_m2(sun, t_c, sky_emissivity(t_c, vapour, cloud), albedo=albedo, sky=sky)
    given_off = conductances(wind, width, stomata, upper_share=upper_share, least_wind_ms=least_wind_ms)
    return leaf_temperature_c(absorbed, t_c, vapour, *given_off, **more)


@pytest.mark.parametrize("case", TABLE["published"]["case"], ids=lambda case: str(case["changed"]))
def test_the_second_opinion_gives_what_is_published(case: dict[str, Any]) -> None:
    around = Surroundings(**case["changed"])
    found = t_leaf(around)
    assert found == pytest.approx(case["t_leaf"], abs=1e-4)
    flux = fluxes(found, around)
    for name in set(case) - {"changed", "t_leaf"}:
        assert getattr(flux, name) == pytest.approx(case[name], rel=1e-6), name


def by_our_form(around: Surroundings) -> float:
    """Return our leaf temperature [degC] with the other's radiation, skin and, for its plate in a wind tunnel, layer."""
    t_c = around.t_air - 273.15
    layer = conductances(
        around.wind * 0.72 / 1.4**2,
        around.leafsize,
        (around.g_sw + around.g_uw) * around.pressure / 1000.0,
        upper_share=around.upper_share,
        least_wind_ms=0.0,
    )
    absorbed = fluxes(around.t_air, around).absorbed / 2.0
    vapour = vapour_kpa(t_c, 100.0 * around.rh)
    return float(leaf_temperature_c(absorbed, t_c, vapour, *layer, pressure_kpa=around.pressure))


def test_both_forms_agree() -> None:
    # Within the other's smooth layer (Reynolds number up to 4000), whose still air also rises: a twentieth of the rise.
    for wind, leafsize, g_sw, t_air, s_sw in product(
        (0.3, 0.6, 1.0), (0.01, 0.02, 0.05), (0.2, 1.0, 5.0), (278.15, 293.15, 308.15), (0.0, 300.0, 1000.0)
    ):
        around = Surroundings(
            wind=wind, leafsize=leafsize, g_sw=g_sw, t_air=t_air, s_sw=s_sw, upper_share=0.0
        )
        other = t_leaf(around) - 273.15
        assert by_our_form(around) == pytest.approx(other, abs=0.05 * abs(other + 273.15 - t_air) + 0.1), (
            around
        )


def test_both_forms_agree_on_the_published_default() -> None:
    assert by_our_form(Surroundings()) == pytest.approx(
        TABLE["published"]["case"][0]["t_leaf"] - 273.15, abs=0.3
    )


@pytest.mark.parametrize(
    ("t_c", "humidity", "sun", "absorbed", "stomata", "exact", "linear"), TABLE["table"]["rows"]
)
def test_the_table(
    t_c: float,
    humidity: float,
    sun: float,
    absorbed: float,
    stomata: float,
    exact: list[float],
    linear: list[float],
) -> None:
    winds_ms = np.array(TABLE["table"]["winds_ms"])
    sky = sky_emissivity(t_c, vapour_kpa(t_c, humidity))
    assert float(absorbed_w_m2(sun, t_c, sky)) == pytest.approx(absorbed, abs=0.06)
    assert leaf(t_c, humidity, sun, winds_ms, stomata=stomata) == pytest.approx(exact, abs=0.015)
    assert leaf(t_c, humidity, sun, winds_ms, stomata=stomata, steps=1) == pytest.approx(linear, abs=0.015)


def test_the_conductances_of_the_table() -> None:
    case = TABLE["conductances"]
    heat, vapour = conductances(1.0, 0.05, np.array(case["stomata_mol"]))
    assert float(heat) == pytest.approx(case["heat_mol"], abs=5e-4)
    assert vapour == pytest.approx(case["vapour_mol"], abs=5e-5)


def test_one_change_at_a_time() -> None:
    case = TABLE["one_change"]
    assert leaf(35.0, 30.0, 900.0, 0.5, np.array(case["width_m"])) == pytest.approx(
        case["by_width_c"], abs=0.015
    )
    assert float(leaf(35.0, 30.0, 900.0, 0.5, albedo=0.5)) == pytest.approx(case["albedo_half_c"], abs=0.015)
    assert float(leaf(35.0, 30.0, 450.0, 0.5)) == pytest.approx(case["half_shade_c"], abs=0.015)


def test_clear_nights_cool_leaves_below_the_air() -> None:
    case = TABLE["night"]
    winds_ms = np.array(case["winds_ms"])
    absorbed = absorbed_w_m2(0.0, 2.0, sky_emissivity(2.0, vapour_kpa(2.0, 80.0)))
    assert float(absorbed) == pytest.approx(case["absorbed_w_m2"], abs=0.02)
    assert 2.0 - leaf(2.0, 80.0, 0.0, winds_ms, stomata=0.005) == pytest.approx(case["below_air_c"], abs=0.01)


def test_the_clear_sky() -> None:
    for t_c, humidity, share in TABLE["emissivity"]["rows"]:
        found = sky_emissivity(t_c, vapour_kpa(t_c, humidity))
        assert float(found) == pytest.approx(share, abs=2e-4), t_c


@pytest.mark.parametrize(("month", "day", "hour", "full", "half"), TABLE["hot_hours"]["rows"])
def test_the_hottest_hours_of_a_real_year(
    month: int, day: int, hour: int, full: list[float], half: list[float]
) -> None:
    year = greensboro()
    i = year.at(month, day, hour)
    air, vapour, pressure = year.t_c[i], saturation_kpa(year.dew_point_c[i]), year.pressure_kpa[i]
    shade = np.array([[1.0], [0.5]])
    absorbed = absorbed_w_m2(shade * year.sunlight_w_m2[i], air, sky_emissivity(air, vapour))
    layer = conductances(0.3 * year.wind_ms[i], 0.05, np.array(TABLE["hot_hours"]["stomata_mol"]))
    found = leaf_temperature_c(absorbed, air, vapour, *layer, pressure_kpa=pressure)
    # The vapour there comes from whole percents of humidity, here from tenths of a dew point.
    assert found == pytest.approx(np.array([full, half]), abs=0.1)


def residual(t_c: Floats, absorbed: Floats, air: Any, vapour: Any, heat: Any, given_off: Any) -> Floats:
    """Return what Campbell & Norman's balance leaves over [W/m2]."""
    sent = 0.97 * 5.67e-8 * (t_c + 273.15) ** 4
    latent = 44000.0 * given_off * (saturation_kpa(t_c) - vapour) / 101.3
    return np.asarray(absorbed - sent - 29.3 * heat * (t_c - air) - latent)


@given(
    st.floats(-10.0, 45.0),
    humidities,
    suns,
    st.floats(0.0, 8.0),
    widths,
    st.floats(0.0, 0.5),
    st.floats(0.0, 1.0),
)
@example(-10.0, 10.0, 1100.0, 0.0, 0.15, 0.0, 0.0)  # the leaf farthest above the air
@example(45.0, 10.0, 0.0, 0.0, 0.002, 0.5, 0.5)
def test_four_steps_balance_to_a_thousandth_of_a_degree(
    t_c: float, humidity: float, sun: float, wind: float, width: float, stomata: float, upper: float
) -> None:
    vapour = vapour_kpa(t_c, humidity)
    absorbed = absorbed_w_m2(sun, t_c, sky_emissivity(t_c, vapour), albedo=0.8, absorptance=0.7)
    layer = conductances(wind, width, stomata, upper_share=upper)
    found = leaf_temperature_c(absorbed, t_c, vapour, *layer)
    around = residual(found + np.array([-1e-3, 1e-3]), absorbed, t_c, vapour, *layer)
    assert around[0] > 0 > around[1]


@given(airs, humidities, suns, winds, widths, openings, st.floats(0.0, 1.0))
def test_shade_never_heats(
    t_c: float, humidity: float, sun: float, wind: float, width: float, stomata: float, left: float
) -> None:
    assert leaf(t_c, humidity, left * sun, wind, width, stomata) <= (
        leaf(t_c, humidity, sun, wind, width, stomata) + 1e-6
    )


@given(airs, humidities, suns, winds, widths, st.floats(1.1, 5.0))
def test_wind_draws_a_dry_leaf_to_the_air(
    t_c: float, humidity: float, sun: float, wind: float, width: float, more: float
) -> None:
    # With shut stomata only: wet ones give off more in wind, and may end below the air.
    calm, windy = (leaf(t_c, humidity, sun, w, width, 0.0) - t_c for w in (wind, more * wind))
    assert abs(windy) <= abs(calm) + 1e-6


@given(airs, humidities, suns, winds, widths, openings, st.floats(1.1, 5.0))
def test_wind_cools_a_leaf_hotter_than_the_air(
    t_c: float, humidity: float, sun: float, wind: float, width: float, stomata: float, more: float
) -> None:
    calm, windy = (leaf(t_c, humidity, sun, w, width, stomata) for w in (wind, more * wind))
    assert windy <= max(float(calm), t_c) + 1e-6


@given(airs, humidities, suns, winds, widths, openings, st.floats(1.1, 5.0))
def test_open_stomata_cool(
    t_c: float, humidity: float, sun: float, wind: float, width: float, stomata: float, more: float
) -> None:
    # Unless the leaf is so cold that vapour would settle on it.
    shut, wide = (leaf(t_c, humidity, sun, wind, width, s) for s in (stomata, more * stomata))
    assert wide <= shut + 1e-6 or saturation_kpa(float(shut)) < vapour_kpa(t_c, humidity)


@given(airs, humidities, winds, widths, openings, st.floats(1.1, 5.0))
def test_bigger_leaves_are_hotter_in_the_sun(
    t_c: float, humidity: float, wind: float, width: float, stomata: float, more: float
) -> None:
    small, big = (leaf(t_c, humidity, 900.0, wind, w, stomata) for w in (width, more * width))
    assert big >= small - 1e-6 or small < t_c


@given(nights, humidities, winds, widths, openings, st.floats(0.0, 1.0), st.floats(0.0, 100.0))
def test_a_roof_and_cloud_keep_leaves_warmer_at_night(
    t_c: float, humidity: float, wind: float, width: float, stomata: float, sky: float, cloud: float
) -> None:
    at_night = t_c, humidity, 0.0, wind, width, stomata
    assert leaf(*at_night, sky=sky) >= leaf(*at_night) - 1e-6
    assert leaf(*at_night, cloud=cloud) >= leaf(*at_night) - 1e-6


def test_still_air_is_never_quite_still() -> None:
    assert conductances(0.0, 0.05, 0.1) == conductances(0.3, 0.05, 0.1, least_wind_ms=0.0)


def test_trees_members_and_hours_broadcast() -> None:
    rng = np.random.default_rng(1)
    air = rng.uniform(20.0, 38.0, (4, 24))  # members, hours
    width = np.array([0.02, 0.05, 0.08])[:, None, None]  # trees
    found = leaf(air, 40.0, 800.0, 0.5, width)
    assert found.shape == (3, 4, 24)
    # Processors work arrays with other instructions than single numbers: the last bits may differ.
    assert found[2, 1, 5] == pytest.approx(float(leaf(air[1, 5], 40.0, 800.0, 0.5, 0.08)), abs=1e-12)
