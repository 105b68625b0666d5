"""Shelter on real hot days and frosts of Greensboro: what is advised is judged again by the hazards themselves."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from alerts.shelter.advice import advise
from alerts.shelter.times import PAUSE, until_when
from tests.alerts.hazards.gardens import GREENSBORO, RULES, made, spot, threats, tree, year_hours
from tests.alerts.made_up import DAY, ENDS, threat

if TYPE_CHECKING:
    from collections.abc import Sequence

    from alerts.air.hours import Hours
    from alerts.hazards.stand import Stand
    from alerts.threats import Advice
    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.words import Hazard

BENCH = spot("bench")
PAVED = spot("court", surface="paving", wind="sheltered")
MORNING = spot("under the oak", sun_from=time(6), sun_to=time(11))
DIM = spot("north wall", sun_from=time(6), sun_to=time(7))
CLOTH = spot("cloth", cloth_percent=50)
FRAME = spot("frame", profile="cold frame", roof=True)
SHED = spot("shed", profile="frost-free", roof=True)
HOUSE = spot("house", profile="heated", roof=True)
SICK = spot("sick bay", cloth_percent=40, quarantine=True)
HOT, FROST = (7, 9), (4, 17)


def advised(
    stands: Sequence[Stand],
    spots: Sequence[Spot],
    hours: Hours,
    hazard: Hazard,
    day: date,
    now: datetime | None = None,
) -> tuple[Advice, ...]:
    found = threats(stands, hours, GREENSBORO, hazard)
    by_tree = {stand.tree: stand for stand in stands}
    every = [*{stand.spot for stand in stands}, *spots]
    return advise(found, by_tree, every, hours, GREENSBORO, RULES, now or hours.start, {(day, hazard)})[
        day, hazard
    ]


def eve(month: int, day: int, days: int = 3) -> Hours:
    """Return the hours from the local midnight before a day on."""
    return year_hours(GREENSBORO, month, day - 1, days)


def safe_at(stand: Stand, where: Spot, hours: Hours, hazard: str, day: date) -> bool:
    """Tell whether one course in ten, at most, passes the line of caution there."""
    moved = replace(stand, spot=where)
    found = [one for one in threats(moved, hours, GREENSBORO, hazard) if one.day == day]
    return all(one.chances[0] == 0 for one in found)


def test_a_maple_in_full_sun_goes_where_it_keeps_most_light() -> None:
    maple = tree("acer-palmatum", BENCH)
    (one,) = advised([maple], [DIM, MORNING, CLOTH], eve(*HOT), "heat", date(1990, 7, 9))
    assert (one.do, one.to, one.why) == ("move", CLOTH.id, "below the line")
    assert one.there < one.here - 2
    assert one.light_mol == pytest.approx(27, abs=4)  # half of a clear July day's 54 mol (pvlib, Ineichen)
    assert one.enough
    assert safe_at(maple, CLOTH, eve(*HOT), "heat", date(1990, 7, 9))


def test_a_place_too_dim_for_a_hot_week_is_told_as_such() -> None:
    pine = replace(tree("pinus-thunbergii", BENCH), heat=tree("acer-palmatum", BENCH).heat)
    (one,) = advised([tree("acer-palmatum", BENCH)], [DIM], eve(*HOT), "heat", date(1990, 7, 9))
    assert (one.to, one.enough) == (DIM.id, True)  # a maple asks for three hours of sun, 12 mol
    (one,) = advised([pine], [DIM], eve(*HOT), "heat", date(1990, 7, 9))
    assert one.light_mol is None or one.light_mol < 32
    assert (one.to, one.enough) == (DIM.id, False)  # a pine for eight, 32 mol


def test_a_move_is_made_before_the_days_work_and_lasts_through_the_days_that_follow() -> None:
    maple = tree("acer-palmatum", BENCH)
    hours = eve(*HOT, days=4)
    (one,) = advised([maple], [CLOTH], hours, "heat", date(1990, 7, 9))
    hot = [threat for threat in threats(maple, hours, GREENSBORO, "heat") if threat.day >= date(1990, 7, 9)]
    assert {date(1990, 7, 9), date(1990, 7, 10)} <= {threat.day for threat in hot}
    assert one.by == datetime(1990, 7, 9, 9, tzinfo=GREENSBORO.zone)
    assert one.until == max(threat.ends for threat in hot)


def test_nobody_carries_a_tree_back_for_a_single_day() -> None:
    """Common practice: between two nights of frost with one mild night a tree stays where it was brought."""
    nights = [
        threat(hazard="frost", day=DAY + timedelta(days=n), ends=ENDS + timedelta(days=n)) for n in (0, 2, 5)
    ]
    assert until_when(nights[0], nights) == ENDS
    assert until_when(nights[0], nights, PAUSE) == ENDS + timedelta(days=2)
    assert until_when(nights[1], nights, PAUSE) == ENDS + timedelta(days=2)


def test_a_warning_that_comes_late_asks_for_the_move_now() -> None:
    maple = tree("acer-palmatum", BENCH)
    begins = next(
        threat.begins
        for threat in threats(maple, eve(*HOT), GREENSBORO, "heat")
        if threat.day == date(1990, 7, 9)
    )
    for now in (begins - timedelta(minutes=40), begins + timedelta(hours=1)):
        (one,) = advised([maple], [CLOTH], eve(*HOT), "heat", date(1990, 7, 9), now=now)
        assert one.by == now


def test_where_no_spot_helps_the_tree_is_covered() -> None:
    maple = tree("acer-palmatum", BENCH)
    (one,) = advised([maple], [PAVED], eve(*HOT), "heat", date(1990, 7, 9))
    assert (one.do, one.to, one.cloth_percent) == ("cover", None, 50)  # the densest of its profile
    assert safe_at(maple, replace(BENCH, cloth_percent=50), eve(*HOT), "heat", date(1990, 7, 9))


def test_nothing_is_an_answer_too() -> None:
    maple = replace(tree("acer-palmatum", CLOTH, foliage="new", vigour=1), cloth_percent=50)
    hot = replace(maple, spot=CLOTH, heat=replace(maple.heat, caution=30.0) if maple.heat else None)
    (one,) = advised([hot], [BENCH, PAVED], eve(*HOT), "heat", date(1990, 7, 9))
    assert (one.do, one.why, one.to) == ("nothing", "no better place", None)
    assert one.here == one.there


def test_a_quarantine_is_neither_left_nor_entered() -> None:
    well, ill = tree("acer-palmatum", BENCH), tree("acer-palmatum", SICK, "ill", foliage="new", vigour=1)
    found = advised([well], [SICK], eve(*HOT), "heat", date(1990, 7, 9))
    assert all(one.to is None for one in found)
    found = advised([ill], [CLOTH, DIM], eve(*HOT), "heat", date(1990, 7, 9))
    assert all(one.to is None for one in found)


def test_a_small_pot_is_watered_again_rather_than_carried() -> None:
    dry = tree("acer-palmatum", BENCH, pot_litres=3.0)
    (one,) = advised([dry], [CLOTH], eve(*HOT), "drying", date(1990, 7, 9))
    assert one.do == "water"
    assert one.there < 1 <= one.here


def test_new_leaves_go_from_a_late_frost_to_the_coldest_place_that_is_enough() -> None:
    maple = tree("acer-palmatum", BENCH, foliage="new")
    (one,) = advised([maple], [HOUSE, SHED], eve(*FROST), "frost", date(1990, 4, 17))
    assert (one.do, one.to) == ("move", SHED.id)
    assert one.light_mol is None
    assert one.by == datetime(1990, 4, 16, 20, tzinfo=GREENSBORO.zone)
    assert one.here < 0 < one.there
    assert safe_at(maple, SHED, eve(*FROST), "frost", date(1990, 4, 17))


def test_without_a_cool_place_leaves_are_covered_and_no_tree_is_woken_for_a_night() -> None:
    """The night's air fell to -0.6 degC, leaves by radiation further: fleece gives back what the sky took."""
    hard, new = (tree("acer-palmatum", BENCH, foliage=leaves) for leaves in ("hard", "new"))
    (one,) = advised([hard], [HOUSE], eve(*FROST), "frost", date(1990, 4, 17))
    assert (one.do, one.to, one.why) == ("wrap", None, "below the line")
    assert one.here < -2 < one.there
    (one,) = advised([new], [HOUSE], eve(*FROST), "frost", date(1990, 4, 17))
    assert (one.do, one.to, one.why) == (
        "move",
        HOUSE.id,
        "below the line",
    )  # new leaves bear no frost at all
    (one,) = advised([new], [], eve(*FROST), "frost", date(1990, 4, 17))
    assert (one.do, one.why) == ("wrap", "best there is")


def test_frozen_pots_are_set_down_or_go_to_the_shed_and_to_a_warm_room_only_in_need() -> None:
    day = date(1990, 2, 5)  # -16.7 degC, the coldest of the file
    maple = tree("acer-palmatum", BENCH, foliage="none", size="small")
    (one,) = advised([maple], [HOUSE, SHED], eve(2, 5), "cold roots", day)
    assert (one.do, one.to, one.why) == ("move", SHED.id, "below the line")
    (one,) = advised([maple], [HOUSE], eve(2, 5), "cold roots", day)
    assert (one.do, one.to, one.why) == ("move", HOUSE.id, "warm room")
    (one,) = advised([maple], [], eve(2, 5), "cold roots", day)
    assert (one.do, one.why) == ("set down", "best there is")
    mild = replace(maple, cold_roots=replace(maple.cold_roots, caution=maple_on_the_ground(maple, day) - 0.1))
    (one,) = advised([mild], [HOUSE], eve(2, 5), "cold roots", day)
    assert (one.do, one.why) == ("set down", "below the line")


def winter_night(low_c: float) -> Hours:
    """Return the hours of three days of clear frost, 8 degC from night to day."""
    t_c = low_c + 4.0 - 4.0 * np.cos(2.0 * np.pi * (np.arange(72) - 6) / 24.0)
    return made(datetime(1990, 1, 10, 5, tzinfo=UTC), t_c=t_c[None], vapour_kpa=0.15)


@pytest.mark.parametrize("size", ["small", "medium"])
@pytest.mark.parametrize(("foliage", "low_c"), [("none", -12.0), ("none", -14.0), ("buds", -12.0)])
@pytest.mark.parametrize("roots", [0.0, 3.0])
def test_a_resting_maple_goes_to_the_frame_as_long_as_that_spares_it(
    size: str, foliage: str, low_c: float, roots: float
) -> None:
    """Common practice: what rests winters between -4 and +4 degC; a heated room wakes it.

    With a line of caution that is ``roots`` higher the frame, kept above -4 degC, does not reach it: it spares.
    """
    day = date(1990, 1, 11)
    maple = tree("acer-palmatum", BENCH, foliage=foliage, size=size)
    maple = replace(
        maple, cold_roots=replace(maple.cold_roots, caution=maple.cold_roots.caution + roots, danger=-8.0)
    )
    found = threats(maple, winter_night(low_c), GREENSBORO, "frost", "cold roots")
    wanted: set[tuple[date, Hazard]] = {(one.day, one.hazard) for one in found if one.day == day}
    spots = [BENCH, FRAME, HOUSE]
    hours = winter_night(low_c)
    advice = advise(found, {maple.tree: maple}, spots, hours, GREENSBORO, RULES, hours.start, wanted)
    assert {(one.do, one.to) for key in wanted for one in advice[key]} == {("move", FRAME.id)}


def test_the_heated_room_is_the_last_resort_of_what_rests() -> None:
    day, hours = date(1990, 1, 11), winter_night(-12.0)
    bare = tree("acer-palmatum", BENCH, foliage="none")
    maple = replace(bare, cold_roots=replace(bare.cold_roots, caution=-2.0, danger=-3.0))
    (one,) = advised([maple], [FRAME, HOUSE], hours, "cold roots", day)
    assert (one.do, one.to, one.why) == ("move", HOUSE.id, "warm room")
    in_frame = replace(maple, spot=FRAME, cold_roots=replace(maple.cold_roots, danger=-8.0))
    (one,) = advised([in_frame], [BENCH, HOUSE], hours, "cold roots", day)
    assert (one.do, one.why) == ("nothing", "no better place")


def maple_on_the_ground(maple: Stand, day: date) -> float:
    """Return the bad course's coldest moment of a root ball that is set on the ground."""
    moved = replace(maple, spot=replace(maple.spot, surface="ground"))
    (found,) = (one for one in threats(moved, eve(2, 5), GREENSBORO, "cold roots") if one.day == day)
    return found.bad


def test_a_fig_may_go_into_the_house() -> None:
    fig = tree("ficus-microcarpa", BENCH)
    day, hours = date(1990, 4, 17), eve(*FROST)
    (one,) = advised([fig], [HOUSE], hours, "frost", day)
    assert (one.do, one.to, one.why) == ("move", HOUSE.id, "stays in")


def test_a_tree_that_heat_and_hot_roots_threaten_goes_to_one_place() -> None:
    maple = tree("acer-palmatum", BENCH, pot_litres=0.6, pot="black plastic")
    day, hours, spots = date(1990, 7, 9), eve(*HOT), [BENCH, CLOTH, MORNING, DIM]
    wanted: set[tuple[date, Hazard]] = {(day, "heat"), (day, "hot roots")}
    found = threats(maple, hours, GREENSBORO, "heat", "hot roots")
    advice = advise(found, {maple.tree: maple}, spots, hours, GREENSBORO, RULES, hours.start, wanted)
    (heat,), (roots,) = (advice[day, hazard] for hazard in ("heat", "hot roots"))
    assert (heat.do, roots.do) == ("move", "move")
    assert (heat.to, heat.by, heat.until) == (roots.to, roots.by, roots.until)
    where = next(spot for spot in spots if spot.id == heat.to)
    for hazard in ("heat", "hot roots"):
        assert safe_at(maple, where, hours, hazard, day)


def test_a_tree_that_frost_and_cold_roots_threaten_goes_to_one_place() -> None:
    """On 5 February 1990 of the file, -16.7 degC: the frame keeps leaves, but not cut roots."""
    day, hours, spots = date(1990, 2, 5), eve(2, 5), [BENCH, FRAME, SHED, HOUSE]
    azalea = tree("rhododendron-indicum", BENCH, weeks_since_root_work=2.0)
    wanted: set[tuple[date, Hazard]] = {(day, "frost"), (day, "cold roots")}
    found = threats(azalea, hours, GREENSBORO, "frost", "cold roots")
    advice = advise(found, {azalea.tree: azalea}, spots, hours, GREENSBORO, RULES, hours.start, wanted)
    (move,) = {(one.to, one.by, one.until) for one in (*advice[day, "frost"], *advice[day, "cold roots"])}
    assert move[0] == SHED.id
    alone = {
        hazard: advised([azalea], [FRAME, SHED, HOUSE], hours, hazard, day)[0].to for _, hazard in wanted
    }
    assert set(alone.values()) == {FRAME.id, SHED.id}  # without the other hazard each had its own


def test_fresh_roots_and_opened_crowns_stay_in_shade_when_the_day_is_over() -> None:
    repotted = tree("acer-palmatum", BENCH, weeks_since_root_work=2.0)
    thinned = tree("acer-palmatum", BENCH, weeks_since_leaves_taken=1.0)
    for maple in (repotted, thinned):
        (one,) = advised([maple], [CLOTH, DIM], eve(*HOT), "heat", date(1990, 7, 9))
        assert (one.do, one.why, one.back) == ("move", "stays shaded", ())


def test_a_heated_room_is_no_refuge_from_heat() -> None:
    maple = tree("acer-palmatum", BENCH)
    (one,) = advised([maple], [HOUSE], eve(*HOT), "heat", date(1990, 7, 9))
    assert one.to is None


def test_hot_pots_are_shaded_before_a_tree_is_carried() -> None:
    pine = tree("pinus-thunbergii", BENCH, pot_litres=1.0, pot="black plastic")
    (one,) = advised([pine], [CLOTH], eve(*HOT), "hot roots", date(1990, 7, 9))
    assert (one.do, one.to) == ("shade pot", None)
    assert one.there < 38 <= one.here  # the line of growth in nursery trials, config/exposure.toml


def test_trees_that_share_a_move_are_told_together() -> None:
    maples = [tree("acer-palmatum", BENCH, f"maple {n}", vigour=3 + n % 2) for n in range(4)]
    hornbeam = tree("carpinus-betulus", BENCH)
    found = advised([*maples, hornbeam], [CLOTH], eve(*HOT), "heat", date(1990, 7, 9))
    assert sum(len(one.trees) for one in found) == 5
    assert max(len(one.trees) for one in found) >= 4


SPOTS = st.lists(
    st.sampled_from([BENCH, PAVED, MORNING, DIM, CLOTH, FRAME, SHED, HOUSE]), min_size=1, unique=True
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    spots=SPOTS,
    species=st.sampled_from(
        ["acer-palmatum", "pinus-thunbergii", "rhododendron-indicum", "ficus-microcarpa"]
    ),
    hazard=st.sampled_from(["heat", "frost", "drying", "hot roots", "cold roots"]),
    case=st.sampled_from([(7, 9), (4, 17), (2, 5)]),
)
def test_no_advice_makes_it_worse_and_what_is_called_safe_is(
    spots: list[Spot], species: str, hazard: Hazard, case: tuple[int, int]
) -> None:
    day = date(1990, *case)
    stand = tree(species, BENCH, foliage="new", pot_litres=1.0, size="small")
    hours = eve(*case)
    found = [one for one in threats(stand, hours, GREENSBORO, hazard) if one.day == day]
    advice = advise(
        found, {stand.tree: stand}, [BENCH, *spots], hours, GREENSBORO, RULES, hours.start, {(day, hazard)}
    )
    for one in advice.get((day, hazard), ()):
        worse = one.there - one.here if hazard not in ("frost", "cold roots") else one.here - one.there
        assert worse <= 0
        assert one.by <= found[0].begins
        if one.to is not None and one.why == "below the line":
            where = next(spot for spot in spots if spot.id == one.to)
            assert safe_at(stand, where, hours, hazard, day)
