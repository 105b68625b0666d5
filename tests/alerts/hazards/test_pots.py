"""Water and roots of pots: worked cases, and what must hold of any."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from alerts.hazards.block import Block
from alerts.hazards.place import weather_at
from alerts.hazards.stand import Pot, Stand
from tests.alerts.hazards.gardens import GREENSBORO, RULES, made, spot, threats, tree, year_hours

if TYPE_CHECKING:
    from alerts.air.hours import Hours

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


def night(t_c: float, before_c: float, hours: int = 36, **more: Any) -> Hours:
    """Return a frosty spell under cloud after a fortnight of one temperature, from noon on."""
    start = datetime(1990, 2, 3, 17, tzinfo=UTC)
    usual: dict[str, Any] = {"vapour_kpa": 0.3, "cloud_percent": 100.0, "t_c": np.full((1, hours), t_c)}
    return replace(made(start, **(usual | more)), before_c=np.full((1, 336), before_c))


def test_a_long_night_at_9_below_kills_fine_roots_in_a_small_pot() -> None:
    """0.2 L at -10 degC are frozen through within 6 h (tests/oracles/container.toml), and then follow the air."""
    maple = tree("acer-palmatum", foliage="none", pot_litres=0.2)
    found = threats(maple, night(-9.0, 2.0, 20), GREENSBORO, "cold roots")
    assert found[0].bad < -8.5
    assert found[0].deep == pytest.approx(found[0].bad, abs=0.3)


def test_a_tenth_of_a_degree_yesterday_does_not_decide_about_a_night() -> None:
    """Heat of fusion stands between +0.1 and -0.1 degC; water freezes in neither from a mild fortnight on."""
    maple = tree("acer-palmatum", foliage="none", pot_litres=1.0)
    for before, frozen in ((2.0, False), (-4.0, True)):
        ends = []
        for yesterday in (0.1, -0.1):
            hours = night(-6.0, before, 8)
            days = np.concatenate([hours.before_c, np.full((1, 24), yesterday)], axis=1)
            ends.append(float(block(maple, hours=replace(hours, before_c=days)).ball.middle[0, 0, -1]))
        assert ends[0] == pytest.approx(ends[1], abs=0.5)
        assert (ends[0] < -3.0) == frozen


def test_a_part_of_the_hours_remembers_those_before() -> None:
    cold = year_hours(GREENSBORO, 10, 1, 16)
    whole = block(tree("acer-palmatum", foliage="none"), hours=cold).ball.middle[0, 0]
    part = cold.part(cold.at(14 * 24), cold.at(16 * 24))
    assert part.before_c == pytest.approx(cold.t_c[:, : 14 * 24])
    assert part.part(part.at(24), part.at(48)).before_c == pytest.approx(cold.t_c[:, 24 : 15 * 24])
    late = block(tree("acer-palmatum", foliage="none"), hours=part).ball.middle[0, 0]
    assert late == pytest.approx(whole[-48:], abs=1.0)  # sun and clear nights of the past are not remembered


def test_the_past_is_felt_at_the_spot() -> None:
    where = [spot(), spot("shed", profile="frost-free")]
    out, shed = (
        float(block(tree("acer-palmatum", one, foliage="none"), hours=night(-3.0, -8.0)).ball.middle[0, 0, 0])
        for one in where
    )
    assert out < -4.0
    assert shed == pytest.approx(2.0, abs=0.1)


def test_the_wall_is_cautioned_before_the_middle_is_in_danger() -> None:
    """Young roots at the wall die first (USDA Forest Service); what kills is measured on whole root systems."""
    maple = tree("acer-palmatum", foliage="none", pot_litres=10.0)
    (first, *_) = threats(maple, night(-12.0, 4.0, 15), GREENSBORO, "cold roots")
    assert first.bad < maple.cold_roots.caution
    assert first.chances == (1.0, 0.0)
    assert first.deep == 0.0
    fresh = replace(maple, cold_roots=replace(maple.cold_roots, danger=-2.8, deep=False))
    (first, *_) = threats(fresh, night(-12.0, 4.0, 15), GREENSBORO, "cold roots")
    assert (first.chances, first.deep) == ((1.0, 1.0), None)


def test_a_killing_dose_at_the_wall_is_a_danger_though_the_middle_is_cooler() -> None:
    """43.9 degC for five hours and 48.9 for one kill roots (tests/oracles/container.toml)."""
    pine = tree("pinus-thunbergii", pot_litres=30.0, pot="black plastic")
    worked = block(pine, hours=night(49.0, 25.0, 12, vapour_kpa=1.0))
    found, ball = worked.course("hot roots"), worked.ball
    killed = int((found.values[0, 0] >= 42.0).argmax())
    assert ball.middle[0, 0, killed] < 42.0
    assert found.values[0, 0, killed] == ball.wall[0, 0, killed]
    parts = 2.0 * 10.0 ** ((ball.wall[0, 0, : killed + 1] - 51.0) / 7.1)
    assert parts[:-1][ball.wall[0, 0, :killed] >= 40.0].sum() < 1.0 <= parts.sum()


def test_a_clear_calm_night_chills_pots_under_the_open_sky_alone() -> None:
    maple = tree("acer-palmatum", foliage="none")
    clear = night(3.0, 3.0, 16, cloud_percent=0.0, wind_10m_ms=0.5)
    windy = replace(clear, wind_10m_ms=np.full((1, 16), 12.0))
    dull = replace(clear, cloud_percent=np.full((1, 16), 100.0))

    def coldest(hours: Hours, **where: Any) -> float:
        return float(block(replace(maple, spot=spot("there", **where)), hours=hours).ball.wall.min())

    open_sky = coldest(clear)
    assert 0.3 < coldest(clear, roof=True) - open_sky < 3.0
    assert coldest(clear, roof=True) == coldest(clear, profile="frost-free") == pytest.approx(3.0, abs=0.1)
    assert open_sky < coldest(windy)
    assert open_sky < coldest(dull)


def test_a_can_as_high_as_wide_is_slower_than_a_bonsai_pot() -> None:
    can, dish = (
        tree("acer-palmatum", foliage="none", pot=of, pot_litres=3.0) for of in ("black plastic", "unglazed")
    )
    ball = block(can, dish, hours=night(-8.0, 4.0, 30)).ball.middle[:, 0]
    assert np.all(ball[0] >= ball[1] - 1e-9)
    assert ball[0, -10] > ball[1, -10] + 1.0
