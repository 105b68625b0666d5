"""What must hold of every plan, whatever the garden."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING
from uuid import UUID

from calendar_core.garden.model import Spot
from calendar_core.planning.items import item_id
from calendar_core.planning.places.operations import CHECK, DOWN, INTO, MAKE, OUT, UP
from calendar_core.planning.seasons.axis import HORIZON_DAYS
from tests.planning.made_up import (
    absent_of,
    bench_on_normals,
    bench_on_series,
    codes,
    invented_series,
    items_of,
    knowledge,
    stage_of,
)
from tests.planning.one_tree import (
    AZALEA,
    FIG,
    MAPLE,
    PINE,
    SPECIES,
    TODAY,
    alone,
    in_nagano,
    items,
    nagano,
    planted,
    shape,
)

if TYPE_CHECKING:
    from calendar_core.knowledge.words import ThermalProfile
    from calendar_core.planning.items import Plan

MOVES = (INTO, OUT, UP, DOWN)


def housed_in_nagano() -> Plan:
    """Trees on a bench, in a garden that has a frame, a shed and a heated room as well."""
    bench = bench_on_normals("Nagano")
    places: tuple[ThermalProfile, ...] = ("open", "cold frame", "frost-free", "heated")
    for number, place in enumerate(places):
        spot = Spot(UUID(int=number), bench.garden.id, place, profile=place)
        bench.spots[spot.id] = spot
    for species in SPECIES:
        bench.tree(species, species, aim="ramification", vigour=5, spot=str(UUID(int=0)))
    return bench.plan(TODAY)


def test_ranges_are_in_order_and_chances_are_shares() -> None:
    for item in in_nagano().items:
        assert item.opens.early <= item.opens.likely <= item.opens.late
        assert item.closes.early <= item.closes.likely <= item.closes.late
        assert item.opens.early <= item.closes.early
        assert item.opens.likely <= item.closes.likely
        assert 0.0 < item.chance <= 1.0


def test_nothing_is_over_and_nothing_lies_too_far_ahead() -> None:
    for item in in_nagano().items:
        assert item.closes.late >= TODAY or item.chance < 0.1
        assert item.opens.likely <= TODAY + timedelta(days=HORIZON_DAYS)


def test_a_day_that_is_safe_in_nine_years_of_ten_does_not_walk_on_with_today() -> None:
    """Where no weather arrives nothing is learned: only the chance falls, as the possible years run out of time."""
    bench = alone(MAPLE, aim="refinement", vigour=4)
    days = [date(2015, 8, 1), date(2015, 8, 10), date(2015, 8, 16), date(2015, 8, 22)]
    found = [items(bench, "partial defoliation", day, 2015)[0] for day in days]
    assert {(item.opens, item.closes) for item in found} == {(found[0].opens, found[0].closes)}
    assert found[0].closes.early < days[1]
    chances = [item.chance for item in found]
    assert chances == sorted(chances, reverse=True)
    assert chances[0] > 0.95
    assert 0 < chances[-1] < 0.5


def test_a_window_is_over_when_no_year_has_it_any_more() -> None:
    bench = alone(MAPLE, aim="refinement", vigour=4)
    last = items(bench, "partial defoliation", date(2015, 8, 1), 2015)[0].closes.likely
    over = [
        one.reasons[0]
        for one in absent_of(bench.plan(date(2015, 10, 15)), bench.trees[0], "partial defoliation")
        if one.cycle == 2015
    ]
    assert [(reason.code, reason.found) for reason in over] == [("over", last)]


def test_every_item_says_why_and_what_opens_and_closes_it() -> None:
    moves = {*MOVES, MAKE}
    assert {item.operation for item in in_nagano().items} >= {INTO, UP, MAKE}
    for item in in_nagano().items:
        if item.operation in moves:
            continue
        assert (
            item.reasons[0].code
            in {
                "due": ("programme", "season", "interval"),
                "wished": ("wished",),
                "possible": ("interval_unknown", "interval_early", "other_aim", "not_wished"),
            }[item.status]
        )
        assert [code.partition("_")[0] for code in codes(item)].count("opens") == 1
        assert [code.partition("_")[0] for code in codes(item)].count("closes") == 1


def test_every_move_says_which_line_is_passed_by_when_and_where_to() -> None:
    plan = housed_in_nagano()
    why = {
        INTO: {"cold", "cool_nights", "kills"},
        OUT: {"cold_over", "nights_over", "wakes"},
        UP: {"hot_days"},
        DOWN: {"hot_over"},
    }
    seen = set()
    for item in plan.items:
        if item.operation in why:
            first, *more = item.reasons
            assert first.code in why[item.operation], item
            late = [reason.found for reason in more if reason.code == "overdue"]
            day = item.closes if item.operation in (INTO, UP) else item.opens
            assert [first.found] == (late or [day.likely])
            assert isinstance(first.needed, float)
            assert first.unit == "degC"
            assert first.basis
            wanted = ["goes_to"] if item.operation in (INTO, OUT) else []
            assert [reason.code for reason in more if reason.code != "overdue"] == wanted
            assert (item.to is None) == (item.operation not in (INTO, OUT))
            assert item.protects == (item.operation == INTO)
            assert item.status == "due"
            seen.add(item.operation)
    assert seen == {INTO, OUT, UP}


def test_without_a_place_that_serves_a_move_says_what_would_and_one_is_to_be_made() -> None:
    goes = [item for item in in_nagano().items if item.operation == INTO]
    assert {item.species for item in goes} == {MAPLE, PINE, AZALEA, FIG}
    for item in goes:
        (lacks,) = (reason for reason in item.reasons if reason.code == "no_place")
        assert (
            lacks.subject == "cold frame"
        )  # the least that serves: a fig until it comes out two weeks later
        assert item.to is None
        assert item.also == ()
    ahead = {item.tree_id for item in goes if item.closes.likely > TODAY + timedelta(days=14)}
    assert {item.tree_id for item in in_nagano().items if item.operation == MAKE} == ahead


def test_a_fig_wants_a_heated_room_for_the_winter() -> None:
    """Common practice: figs winter indoors, not in a frame or a cold shed."""
    (item,) = items(alone(FIG), INTO, date(2015, 8, 1))
    assert [reason.subject for reason in item.reasons if reason.code == "no_place"] == ["heated"]


def test_every_work_of_this_cycle_is_planned_or_its_absence_has_a_reason() -> None:
    plan = in_nagano()
    for tree in nagano().trees:
        told = {(i.rule, i.cycle) for i in plan.items if i.tree_id == tree.id}
        told |= {(n.rule, n.cycle) for n in plan.not_planned if n.tree_id == tree.id}
        assert {(work.key, 2015) for work in knowledge().profiles[tree.species].work} <= told
        assert {INTO, OUT, UP, CHECK} <= {rule for rule, _ in told}
    assert all(one.reasons for one in plan.not_planned)


def test_items_are_listed_as_they_open_and_each_once() -> None:
    found = in_nagano().items
    assert all(a.opens.likely <= b.opens.likely for a, b in pairwise(found))
    assert len({item.id for item in found}) == len(found)


def test_stages_of_a_spring_come_in_order() -> None:
    order = ("bud_swell", "bud_break", "leaves_present", "leaves_full_size", "leaves_hardened")
    for cycle in (2015, 2016):
        ranges = [stage_of(in_nagano(), nagano().trees[0], stage, cycle).range for stage in order]
        assert all(one and later and one.likely < later.likely for one, later in pairwise(ranges))


def test_an_id_is_what_the_item_is_and_never_when() -> None:
    """The same item keeps its name on another day, after another spring, and in other weather."""
    bench = nagano()
    for item in in_nagano().items:
        assert item.id == item_id(bench.garden.id, item.tree_id, item.rule, item.cycle)
    other = replace(planted(bench_on_normals("Sapporo")), garden=bench.garden)
    of_this_year = {(i.species, i.rule): (i.id, i.opens) for i in in_nagano().items if i.cycle == 2015}
    moved = []
    for plan in (other.plan(TODAY), bench.plan(date(2015, 5, 15))):
        again = {(i.species, i.rule): (i.id, i.opens) for i in plan.items if i.cycle == 2015}
        both = again.keys() & of_this_year.keys()
        assert all(again[key][0] == of_this_year[key][0] for key in both)
        moved.append(any(again[key][1] != of_this_year[key][1] for key in both))
    assert moved[0]


def test_the_order_of_trees_and_entries_does_not_matter() -> None:
    bench = planted(bench_on_normals("Nagano"), " a", " b")
    bench.did(date(2015, 3, 10), "repot", f"{MAPLE} a")
    bench.write(date(2015, 4, 1), "seen", f"{MAPLE} b", stage="bud_break")
    bench.write(date(2015, 4, 20), "seen", f"{PINE} a", stage="not yet candles_extending")
    plan = bench.plan(TODAY)
    bench.trees.reverse()
    bench.entries.reverse()
    shuffled = bench.plan(TODAY)
    assert {i.id: i for i in shuffled.items} == {i.id: i for i in plan.items}
    assert sorted(map(repr, shuffled.not_planned)) == sorted(map(repr, plan.not_planned))
    assert shuffled.stages == plan.stages


def test_what_was_seen_of_one_tree_does_not_move_another() -> None:
    bench = bench_on_normals("Melbourne")
    for label in ("one", "other"):
        bench.tree(label, PINE, aim="ramification", vigour=5)
    today = date(2016, 3, 20)
    before = items_of(bench.plan(today), bench.trees[1], "feeding gently")
    bench.write(date(2016, 2, 1), "seen", "one", stage="growth_stop")
    assert items_of(bench.plan(today), bench.trees[1], "feeding gently") == before


def test_like_trees_have_like_items() -> None:
    bench = planted(bench_on_normals("Nagano"), " a", " b", " c")
    plan = bench.plan(TODAY)
    for species in SPECIES:
        kin = [tree for tree in bench.trees if tree.species == species]
        one, other, third = ([shape(i) for i in plan.items if i.tree_id == tree.id] for tree in kin)
        assert one == other == third
        assert one


def test_other_trees_do_not_matter() -> None:
    lonely = alone(MAPLE)
    lonely.trees[0] = replace(lonely.trees[0], id=nagano().trees[0].id)
    lonely.entries[0] = replace(lonely.entries[0], tree_ids=(lonely.trees[0].id,))
    found = [i for i in in_nagano().items if i.species == MAPLE]
    assert list(lonely.plan(TODAY).items) == found


def test_nothing_after_today_is_seen() -> None:
    """Neither weather nor log of later days; a grower cannot have known them."""
    series = invented_series(date(2010, 1, 1), date(2016, 12, 31), mean_c=11.0, swing_c=10.0)
    blind = replace(series, t_min_c=series.t_min_c.copy(), t_max_c=series.t_max_c.copy())
    ahead = (TODAY - series.start).days + 1
    blind.t_min_c[ahead:] -= 30.0
    blind.t_max_c[ahead:] -= 30.0
    plans = []
    for days in (series, blind):
        bench = bench_on_series(days, 45.0, TODAY)
        bench.tree("maple", MAPLE)
        bench.did(TODAY + timedelta(days=1), "repot", "maple")
        plans.append(bench.plan(TODAY))
    assert plans[0].items == plans[1].items
    assert "done" not in [code for one in plans[0].not_planned for code in codes(one)]


def test_the_clock_of_the_garden_s_zone_does_not_matter() -> None:
    """Clocks change on 29 March 2015 in Europe; a plan knows days only."""
    plans = []
    for zone in ("UTC", "Europe/Berlin"):
        bench = alone(MAPLE)
        bench.garden = replace(bench.garden, zone=zone)
        plans.append([shape(item) for item in bench.plan(date(2015, 3, 29)).items])
    assert plans[0] == plans[1]


def test_leap_day() -> None:
    bench = alone(MAPLE, "structure")
    bench.did(date(2012, 2, 29), "repot", "it")
    around = [date(2016, 2, 28), date(2016, 2, 29), date(2016, 3, 1)]
    due = [items(bench, "repot", day, 2016)[0] for day in around]
    assert {item.status for item in due} == {"due"}
    assert all(date(2016, 2, 29) < item.opens.likely < date(2016, 4, 1) for item in due)
    assert max(abs((a.opens.likely - b.opens.likely).days) for a, b in pairwise(due)) <= 1
