"""Which trees are warned in real weather and which not, as if the forecast had been perfect.

The weather is named in `gardens`. Warned means that the day's worst moment passes a line.
"""

from __future__ import annotations

from datetime import UTC, datetime, time
from typing import Any

import pytest

from alerts.hazards.block import Block
from alerts.hazards.place import weather_at
from tests.alerts.hazards.gardens import (
    GREENSBORO,
    NEW_YORK,
    RULES,
    SAND_POINT,
    SEATTLE,
    new_york_hours,
    seattle_hours,
    spot,
    threats,
    tree,
    warned,
    year_hours,
)
from tests.oracles.tables import facts

SUN, CLOTH = spot("sun"), spot("cloth", cloth_percent=50)
MORNING = spot("morning", sun_from=time(6), sun_to=time(11))
COURT = spot("court", surface="pale wall", wind="sheltered")
DRIEST: dict[str, Any] = {"size": "small", "pot_litres": 0.3}
BROADLEAVES = ("acer-palmatum", "ulmus-parvifolia", "rhododendron-indicum")
TOUGH = ("pinus-thunbergii", "juniperus-chinensis", "ficus-microcarpa")


@pytest.mark.parametrize(("month", "day", "hour", "full", "half"), facts("leaf.toml")["hot_hours"]["rows"])
def test_leaves_of_the_hottest_hours(
    month: int, day: int, hour: int, full: list[float], half: list[float]
) -> None:
    """Checked for 5 cm leaves, stomata 0.1, 0.3 of the wind (leaf.toml): a bench adds its own warmth and sky."""
    hours = year_hours(GREENSBORO, month, day, 1)
    for where, expected in ((SUN, full[1]), (CLOTH, half[1])):
        block = Block([tree("acer-palmatum", where)], weather_at([where], hours, GREENSBORO, RULES)[where])
        assert float(block.leaf[0, 0, hour - 1]) == pytest.approx(expected, abs=1.2), where.name


def test_hot_days_warn_thin_leaves_in_the_sun_and_no_others() -> None:
    hours = year_hours(GREENSBORO, 7, 8, 4)
    for species in BROADLEAVES:
        found = warned(tree(species, SUN), hours, GREENSBORO, "heat")
        assert {"07-09 caution", "07-10 caution"} <= set(found), species
        for where in (CLOTH, MORNING):
            assert warned(tree(species, where), hours, GREENSBORO, "heat") == [], (species, where.name)
    for species in TOUGH:
        assert warned(tree(species, SUN), hours, GREENSBORO, "heat") == [], species


def test_a_day_of_33_9_degrees_with_wind_warns_only_where_it_is_still_and_bright() -> None:
    hours = year_hours(GREENSBORO, 6, 2)
    assert warned(tree("acer-palmatum", SUN), hours, GREENSBORO, "heat") == []
    assert warned(tree("acer-palmatum", COURT), hours, GREENSBORO, "heat") == ["06-02 caution"]
    assert warned(tree("acer-palmatum", SUN, foliage="new", vigour=2), hours, GREENSBORO, "heat") == [
        "06-02 caution"
    ]


def test_a_dry_pot_shuts_stomata_and_heat_becomes_danger() -> None:
    hours = year_hours(GREENSBORO, 7, 9, 2)
    once = tree("acer-palmatum", SUN, **DRIEST, watered_h=(7.0,))
    twice = tree("acer-palmatum", SUN, **DRIEST, watered_h=(7.0, 13.0))
    assert warned(once, hours, GREENSBORO, "heat") == ["07-09 danger", "07-10 danger"]
    assert warned(twice, hours, GREENSBORO, "heat") == ["07-09 caution", "07-10 caution"]
    assert [day[:5] for day in warned(once, hours, GREENSBORO, "drying")] == ["07-09", "07-10"]
    assert warned(tree("acer-palmatum", SUN, size="large"), hours, GREENSBORO, "drying") == []


def test_hot_days_heat_the_roots_of_small_pots_in_the_sun() -> None:
    hours = year_hours(GREENSBORO, 7, 8, 3)
    for litres, level in ((0.3, "danger"), (3.0, "caution")):
        small = tree("juniperus-chinensis", SUN, pot_litres=litres)
        assert f"07-10 {level}" in warned(small, hours, GREENSBORO, "hot roots"), litres
    large = warned(tree("juniperus-chinensis", SUN, pot_litres=10), hours, GREENSBORO, "hot roots")
    assert not [day for day in large if "danger" in day]
    assert warned(tree("juniperus-chinensis", CLOTH, pot_litres=5), hours, GREENSBORO, "hot roots") == []


def test_the_heat_wave_of_new_york() -> None:
    """17 to 19 July 2013 with 35.0, 37.2 and 37.2 degC at La Guardia, a clear sky assumed."""
    hours = new_york_hours()
    for species in BROADLEAVES:
        found = warned(tree(species, SUN), hours, NEW_YORK, "heat")
        assert {"07-18 caution", "07-19 caution"} <= set(found), species
        assert warned(tree(species, MORNING), hours, NEW_YORK, "heat") == [], species
    for species in TOUGH:
        assert warned(tree(species, SUN), hours, NEW_YORK, "heat") == [], species
    assert warned(tree("acer-palmatum", COURT), hours, NEW_YORK, "heat")[1] == "07-18 danger"
    assert "07-19 danger" in warned(
        tree("pinus-thunbergii", SUN, pot_litres=0.5), hours, NEW_YORK, "hot roots"
    )


def test_the_hot_spell_of_seattle() -> None:
    """24 June to 5 July 2015, up to 33.9 degC; hours made from daily extremes."""
    hours = seattle_hours("2015/06/24", 12)
    assert warned(tree("acer-palmatum", SUN), hours, SEATTLE, "heat") == []
    court = warned(tree("acer-palmatum", COURT), hours, SEATTLE, "heat")
    assert {"06-27 caution", "07-02 caution"} <= set(court)
    assert not [day for day in court if day.startswith("06-24")]
    dry = warned(tree("acer-palmatum", SUN, **DRIEST), hours, SEATTLE, "drying")
    assert "07-02 danger" in dry


def test_a_tree_moved_into_the_sun_is_told_of_sunburn_until_it_is_used_to_it() -> None:
    hours = year_hours(GREENSBORO, 7, 1, 16)
    moved = tree("acer-palmatum", SUN, used_to_mol=20.0)
    days = warned(moved, hours, GREENSBORO, "sunburn")
    assert days[0] == "07-01 caution"
    assert all(day < "07-11" for day in days)
    clear = year_hours(GREENSBORO, 7, 8, 3)
    for where, mol in ((SUN, None), (SUN, 45.0), (CLOTH, 25.0)):
        settled = tree("acer-palmatum", where, used_to_mol=mol)
        assert warned(settled, clear, GREENSBORO, "sunburn") == [], (where.name, mol)


def test_more_light_lowers_the_lines_of_heat_on_those_days() -> None:
    hours = year_hours(GREENSBORO, 7, 8, 3)
    usual, moved = (
        {
            one.day: one
            for one in threats(tree("acer-palmatum", SUN, used_to_mol=mol), hours, GREENSBORO, "heat")
        }
        for mol in (None, 20.0)
    )
    for day, one in usual.items():
        assert (moved[day].caution, moved[day].reasons) == (one.caution - 2.0, ("more light",))
        assert moved[day].typical == one.typical


LATE_FROSTS = [  # screen minima 1.1, -0.6 and 1.7 degC under a clear sky
    (4, 6, {"new": ["04-06 caution"], "buds": [], "hard": []}),
    (4, 17, {"new": ["04-17 danger"], "buds": [], "hard": ["04-17 caution"]}),
    (5, 4, {"new": ["05-04 caution"], "buds": [], "hard": []}),
]


@pytest.mark.parametrize(("month", "day", "expected"), LATE_FROSTS)
def test_late_frosts(month: int, day: int, expected: dict[str, list[str]]) -> None:
    hours = year_hours(GREENSBORO, month, day - 1, 2)
    for foliage, days in expected.items():
        maple = tree("acer-palmatum", foliage=foliage)
        assert warned(maple, hours, GREENSBORO, "frost") == days, foliage
    for where in (spot("frame", profile="cold frame"), spot("house", profile="frost-free")):
        assert warned(tree("acer-palmatum", where, foliage="new"), hours, GREENSBORO, "frost") == []
    assert warned(tree("pinus-thunbergii"), hours, GREENSBORO, "frost") == []
    assert warned(tree("acer-palmatum", foliage="none"), hours, GREENSBORO, "frost") == []


def test_leaves_of_the_late_frost_are_degrees_below_the_air() -> None:
    """1 to 4 degC on clear, calm nights (National Weather Service: frost advisories at 1 to 2 degC of the air)."""
    hours = year_hours(GREENSBORO, 4, 16, 2)
    (one,) = threats(tree("acer-palmatum", foliage="new"), hours, GREENSBORO, "frost")
    assert 1.0 <= -0.6 - one.typical <= 4.0
    assert one.begins.astimezone(GREENSBORO.zone).hour < 6 < one.ends.astimezone(GREENSBORO.zone).hour + 2
    roofed = threats(
        tree("acer-palmatum", spot("roof", roof=True), foliage="new"), hours, GREENSBORO, "frost"
    )
    assert roofed[0].typical > one.typical + 1.0


def test_the_cold_of_february_reaches_roots_by_size_of_pot_and_shelter() -> None:
    """-16.7 degC on 5 February, after three days of frost; maple roots die at -10."""
    known = year_hours(GREENSBORO, 1, 15, 23)
    hours = known.part(known.at(18 * 24), known.at(len(known)))

    def bare(where: str = "bench", species: str = "acer-palmatum", **more: Any) -> list[str]:
        spots = {
            "bench": spot(),
            "frame": spot("frame", profile="cold frame"),
            "house": spot("house", profile="frost-free"),
        }
        return warned(tree(species, spots[where], foliage="none", **more), hours, GREENSBORO, "cold roots")

    assert bare(pot_litres=1)[:2] == ["02-03 caution", "02-04 danger"]
    assert bare()[0] == "02-04 danger"
    assert bare(pot_litres=30)[:2] == ["02-04 caution", "02-05 danger"]
    assert bare("frame") == bare("house") == []
    assert warned(tree("pinus-sylvestris"), hours, GREENSBORO, "cold roots")[0] == "02-04 caution"
    assert (
        warned(tree("ficus-microcarpa", spot("warm", profile="heated")), hours, GREENSBORO, "cold roots")
        == []
    )
    assert "02-03 danger" in bare("bench", weeks_since_root_work=2.0)


def test_the_frosts_of_seattle() -> None:
    """4 to 10 December 2013, down to -7.1 degC after mild weeks: the wall of small pots is at -4 two nights before large."""
    known = seattle_hours("2013/11/13", 28)
    hours = known.part(known.at(21 * 24), known.at(len(known)))
    small, large, huge = (
        warned(tree("acer-palmatum", foliage="none", pot_litres=of), hours, SEATTLE, "cold roots")
        for of in (0.2, 10.0, 60.0)
    )
    assert small[0] == "12-05 caution"
    assert large[0] == "12-07 caution"
    assert not [day for day in (*small, *large) if "danger" in day]  # old maple roots die at -10
    assert len(huge) < len(large)


@pytest.mark.slow
def test_no_heat_is_ever_told_at_sand_point() -> None:
    """Its hottest hour of the year has 19.4 degC."""
    hours = year_hours(SAND_POINT, 1, 1, 365)
    stands = [
        tree(species, where, f"{species} {where.name}", foliage="new", vigour=1, pot_litres=0.5)
        for species in (*BROADLEAVES, *TOUGH)
        for where in (SUN, COURT)
    ]
    assert threats(stands, hours, SAND_POINT, "heat", "hot roots") == ()
    assert threats(stands, hours, SAND_POINT, "wind")  # but it blows


def test_days_without_a_sunrise_or_a_sunset_are_judged() -> None:
    for month in (6, 12):
        hours = year_hours(GREENSBORO, month, 18, 4)
        for latitude in (89.0, 70.0, -70.0, -89.0):
            place = type(GREENSBORO)(latitude, 20.0, 10.0, GREENSBORO.zone)
            for one in threats(
                [tree("acer-palmatum", used_to_mol=5.0), tree("pinus-thunbergii")], hours, place
            ):
                assert one.begins < one.ends <= datetime(1991, 1, 1, tzinfo=UTC)
