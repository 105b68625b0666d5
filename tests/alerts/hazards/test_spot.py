"""What reaches a spot: cloth, hours of sun, horizon, roof, frames, walls and shelter."""

from __future__ import annotations

from datetime import time
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from alerts.air.hours import Place
from alerts.hazards.block import Block
from alerts.hazards.place import Weather, recent, weather_at
from calendar_core.science.hour.humidity import saturation_kpa
from tests.alerts.hazards.gardens import GREENSBORO, RULES, made, spot, threats, tree, year_hours

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from alerts.hazards.stand import Stand
    from calendar_core.garden.model import Spot

JULY = year_hours(GREENSBORO, 7, 9, 1)
FROST = year_hours(GREENSBORO, 4, 16, 2)


def at(where: Spot, hours: Any = JULY, place: Place = GREENSBORO) -> Weather:
    return weather_at([where], hours, place, RULES)[where]


def hottest(stand: Stand, hours: Any = JULY) -> float:
    return float(Block([stand], at(stand.spot, hours)).leaf.max())


def coldest(stand: Stand) -> float:
    return float(Block([stand], at(stand.spot, FROST)).leaf.min())


def test_an_open_spot_has_the_weather_of_the_open_place() -> None:
    found = at(spot())
    assert found.t_c == pytest.approx(JULY.t_c)
    assert found.light_w_m2 == pytest.approx(JULY.sunlight_w_m2)
    assert found.gust_ms == pytest.approx(JULY.gust_ms)


def test_wind_at_the_bench_is_a_fifth_to_six_tenths_of_the_mast() -> None:
    """0.3 behind hedges to 0.6 in the open, as the facts of the trade have it; walls on most sides let less through."""
    for wind, share in (("sheltered", 0.2), ("normal", 0.3), ("windy", 0.6)):
        found = at(spot(wind=wind))
        assert found.wind_ms == pytest.approx(share * JULY.wind_10m_ms, rel=0.1), wind


def test_cloth_holds_back_its_share() -> None:
    for percent in (0, 30, 50, 100):
        found = at(spot(cloth_percent=percent)).daily_mol[0, 0]
        assert found == pytest.approx(at(spot()).daily_mol[0, 0] * (1.0 - percent / 100.0))
    assert at(spot()).daily_mol[0, 0] == pytest.approx(54.3, abs=0.2)  # 7328 Wh/m2 x 2.06 umol/J


def test_hours_of_sun_leave_the_sky() -> None:
    found, whole = at(spot(sun_from=time(8), sun_to=time(11, 30))), at(spot())
    shadow = found.light_w_m2[0] / np.where(whole.light_w_m2[0] > 0, whole.light_w_m2[0], 1.0)
    assert np.all(shadow[12:20] < 0.7)
    assert np.all(shadow[8:11] > shadow[12:15].max())
    assert shadow[8:11].mean() > shadow[11] > shadow[12:15].max()
    assert 0.3 < found.daily_mol[0, 0] / whole.daily_mol[0, 0] < 0.7


def test_a_horizon_stands_in_for_the_hours() -> None:
    high = spot(
        horizon=((0.0, 0.0), (180.0, 0.0), (190.0, 80.0), (350.0, 80.0)), sun_from=time(5), sun_to=time(6)
    )
    found, whole = at(high), at(spot())
    assert found.light_w_m2[0, 9] > 0.6 * whole.light_w_m2[0, 9]
    assert found.light_w_m2[0, 16] < 0.5 * whole.light_w_m2[0, 16]
    level = at(spot(horizon=((0.0, 0.0), (180.0, 0.0))))
    assert level.light_w_m2 == pytest.approx(whole.light_w_m2)


def test_under_glass_there_is_no_wind_rain_hail_or_frost() -> None:
    hours = made(
        FROST.start, t_c=np.array([[-9.0, 9.0]]), rain_mm=np.array([[3.0, 0.0]]), hail=np.ones((1, 2))
    )
    for profile, low, high in (("cold frame", -4.0, 11.0), ("frost-free", 2.0, 9.0), ("heated", 16.0, 16.0)):
        found = at(spot(profile=profile), hours)
        assert found.t_c.tolist() == [[low, high]], profile
        assert not found.rain_mm.any()
        assert not found.hail.any()
        assert not found.gust_ms.any()
        assert not found.wind_ms.any()
    assert at(spot(), hours).hail.all()
    assert not at(spot(roof=True), hours).hail.any()


@pytest.mark.parametrize("foliage", ["falling", "hard"])
def test_a_tree_in_a_frame_is_judged_by_the_air_of_the_frame(foliage: str) -> None:
    """Societies store trees between -4 and +4 degC, so the frame is kept above -4 while it freezes to -8 outside."""
    hours = made(FROST.start, t_c=np.full((1, 48), -8.0), vapour_kpa=0.3)
    trident: dict[str, Any] = {"foliage": foliage, "weeks_since_root_work": 2.0}
    outside, inside = (
        {one.hazard: one for one in threats(tree("acer-buergerianum", where, **trident), hours, GREENSBORO)}
        for where in (spot(), spot("frame", profile="cold frame"))
    )
    assert -10.0 < outside["cold roots"].bad <= -8.0  # the wall under a clear sky is colder than the air
    assert inside["cold roots"].bad == pytest.approx(-4.0, abs=0.5)
    assert inside["cold roots"].reasons == ("fresh roots",)
    assert ("frost" in outside, "frost" in inside) == (foliage == "hard",) * 2
    if foliage == "hard":
        assert outside["frost"].bad < -8.0
        assert inside["frost"].bad == pytest.approx(-4.0, abs=1.0)  # no sky there


def test_a_roof_and_walls_keep_the_sky_off_at_night() -> None:
    new: dict[str, Any] = {"foliage": "new"}
    open_c = coldest(tree("acer-palmatum", **new))
    assert coldest(tree("acer-palmatum", spot(roof=True), **new)) > open_c + 1.0
    assert coldest(tree("acer-palmatum", spot(cloth_percent=50), **new)) > open_c + 0.5
    walls = spot(sun_from=time(9), sun_to=time(15))
    assert coldest(tree("acer-palmatum", walls, **new)) > open_c + 0.3


def test_a_pale_wall_and_dark_paving_heat_leaves_by_some_degrees() -> None:
    """About 2 degC for an albedo of 0.5 (tests/oracles/leaf.toml, 40.74 to 42.86 at 900 W/m2)."""
    bench, wall, asphalt = (
        hottest(tree("acer-palmatum", spot(surface=name))) for name in ("bench", "pale wall", "dark paving")
    )
    assert 1.0 < wall - bench < 3.5
    assert 0.3 < asphalt - bench < 3.5
    assert hottest(tree("acer-palmatum", spot(surface="a word of the grower"))) == bench


def test_leaves_lose_what_they_take_in() -> None:
    """The balance of Campbell & Norman 1998, eq. 14.1, on a year in the hottest of spots."""
    court = spot("court", surface="dark paving", wind="sheltered")
    weather = at(court, year_hours(GREENSBORO, 1, 1, 365))
    stand = tree("ginkgo-biloba", court, pot_litres=0.2)
    block = Block([stand], weather)
    open_share = np.clip((1.4 - block.used) / 0.7, 0.0, 1.0) * weather.day
    stomata = (
        stand.leaf.stomata_shut_mol + (stand.leaf.stomata_open_mol - stand.leaf.stomata_shut_mol) * open_share
    )
    moved = 1.4 * np.sqrt(np.maximum(weather.wind_ms, 0.3) / (0.72 * stand.leaf.width_m))
    vapour = 0.147 * moved
    given_off = stomata * vapour / (stomata + vapour) / 2.0
    kept = weather.heat_w_m2 + stand.leaf.absorptance * weather.sun_w_m2

    def left_over(t_c: NDArray[np.float64]) -> NDArray[np.float64]:
        latent = (
            44000.0 * given_off * (saturation_kpa(t_c) - weather.hours.vapour_kpa) / GREENSBORO.pressure_kpa
        )
        sent = 0.97 * 5.67e-8 * (t_c + 273.15) ** 4
        return np.asarray(kept - sent - 29.3 * 0.135 * moved * (t_c - weather.t_c) - latent)

    assert np.all(left_over(block.leaf - 1e-3) > 0.0)
    assert np.all(left_over(block.leaf + 1e-3) < 0.0)


def test_leaves_wet_from_rain_cool_to_the_wet_bulb() -> None:
    """Air of 2 degC and 60 %: -0.48 degC (psychrometer equation, science.humidity)."""
    rain = np.zeros((1, 6))
    rain[0, 1] = 2.0
    hours = made(
        FROST.start, t_c=np.full((1, 6), 2.0), vapour_kpa=0.6 * 0.7055, rain_mm=rain, cloud_percent=100.0
    )
    found = at(spot(), hours).wet_c[0]
    assert np.isinf(found[[0, 4, 5]]).all()
    assert found[1:4] == pytest.approx(-0.5, abs=0.05)
    assert np.isinf(at(spot(roof=True), hours).wet_c).all()


def test_recent_sums_look_back_so_many_hours() -> None:
    # Counted by hand.
    assert recent(np.array([1.0, 0.0, 2.0, 0.0, 0.0]), 2).tolist() == [1.0, 1.0, 3.0, 2.0, 2.0]
    assert recent(np.array([1.0, 2.0]), 9).tolist() == [1.0, 3.0]


@given(st.integers(0, 100), st.sampled_from(["acer-palmatum", "pinus-thunbergii", "quercus-robur"]))
def test_shade_never_heats_leaves_above_the_open_or_the_air(cloth: int, species: str) -> None:
    open_c = hottest(tree(species, spot()))
    assert hottest(tree(species, spot(cloth_percent=cloth))) <= max(open_c, float(JULY.t_c.max())) + 1e-6


@given(st.floats(0.2, 3.0), st.floats(1.05, 4.0), st.sampled_from(["acer-palmatum", "ulmus-parvifolia"]))
def test_more_wind_cools_a_leaf_that_is_hotter_than_the_air(wind: float, more: float, species: str) -> None:
    """With the same water: over a day wind also empties the pot."""
    noon = {"t_c": np.full((1, 1), 33.0), "sunlight_w_m2": np.full((1, 1), 900.0)}
    start = JULY.start.replace(hour=17)

    def leaf(ms: float) -> float:
        stand = tree(species)
        weather = at(stand.spot, made(start, **noon, wind_10m_ms=ms))
        return float(Block([stand], weather).leaf[0, 0, 0])

    assert leaf(more * wind) <= max(leaf(wind), 33.0) + 1e-6


def test_south_of_the_equator_it_is_the_same_mirrored() -> None:
    """Half a year later the sun of the other hemisphere is as high; a house in the north hides its noon."""
    in_the_north = spot(horizon=((0.0, 80.0), (60.0, 80.0), (90.0, 0.0), (270.0, 0.0), (300.0, 80.0)))
    noon = {}
    for month, latitude in ((6, 40.0), (12, -40.0)):
        start = JULY.start.replace(month=month, day=21)
        hours = made(start, t_c=np.full((1, 24), 20.0), sunlight_w_m2=900.0)
        place = Place(latitude, -75.0, 0.0, GREENSBORO.zone)
        found = [at(where, hours, place) for where in (spot(), in_the_north)]
        noon[month] = found[0].sun.elevation_deg.max(), found[1].light_w_m2[0, 12] / 900.0
    assert noon[6][0] == pytest.approx(noon[12][0], abs=1.5)
    assert noon[12][1] < noon[6][1] - 0.2
