"""What the log of a tree does to its plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID

import pytest

from calendar_core.garden.model import Spot
from calendar_core.garden.state import states
from calendar_core.planning.items import Range
from calendar_core.planning.seasons.species_stages import Grove
from calendar_core.planning.works.turns import repotting
from tests.planning.made_up import (
    Bench,
    bench_on_normals,
    bench_on_series,
    codes,
    invented_series,
    knowledge,
    stage_of,
)
from tests.planning.one_tree import (
    AZALEA,
    MAPLE,
    TODAY,
    alone,
    items,
    refused,
)

if TYPE_CHECKING:
    from calendar_core.knowledge.words import ThermalProfile

pytestmark = pytest.mark.slow

BENCH, FRAME, SHED, HOUSE = (UUID(int=number) for number in range(100, 104))  # the spots of a housed tree


def test_an_item_put_off_opens_on_its_day() -> None:
    bench = alone(MAPLE)
    (item,) = items(bench, "cut back", cycle=2015)
    until = date(2015, 7, 20)
    bench.write(TODAY, "answer", "it", item=str(item.id), answer="put off", until=until.isoformat())
    (later,) = items(bench, "cut back", cycle=2015)
    assert "put_off" in codes(later)
    assert later.closes == item.closes
    assert until - timedelta(days=1) <= later.opens.early <= later.opens.late <= until


def test_nothing_put_off_or_held_opens_before_its_day() -> None:
    bench = alone(MAPLE)
    bench.did(date(2015, 4, 10), "repot", "it")
    (held,) = items(bench, "cut back", cycle=2015)
    assert held.opens.early >= date(2015, 4, 10) + timedelta(weeks=8)


def test_an_answered_item_is_gone_for_its_cycle_only() -> None:
    bench = alone(MAPLE)
    (item,) = items(bench, "cut back", cycle=2015)
    bench.write(TODAY, "answer", "it", item=str(item.id), answer="not this cycle")
    assert refused(bench, "cut back", 2015) == ["dropped"]
    assert items(bench, "cut back", cycle=2016)


def test_what_is_put_off_beyond_its_window_says_so() -> None:
    bench = alone(MAPLE)
    (item,) = items(bench, "cut back", cycle=2015)
    bench.write(TODAY, "answer", "it", item=str(item.id), answer="put off", until="2015-12-01")
    assert "put_off" in refused(bench, "cut back", 2015)


def test_a_hold_that_uses_the_window_up_is_the_reason() -> None:
    bench = alone()
    bench.did(date(2015, 9, 25), "repot", "it")
    assert "hold" in refused(bench, "wire", 2015, date(2015, 10, 10))


def test_a_hold_that_is_long_over_is_not_told() -> None:
    bench = alone(MAPLE)
    bench.did(date(2014, 3, 20), "repot", "it")
    (item,) = items(bench, "cut back", cycle=2015)
    assert "hold" not in codes(item)


def test_a_repotting_in_march_rules_full_defoliation_out_for_the_cycle() -> None:
    bench = alone(MAPLE, "refinement")
    bench.did(date(2015, 3, 10), "repot", "it")
    bench.write(TODAY, "wish", "it", operation="full defoliation")
    assert refused(bench, "full defoliation", 2015)[0] == "same_cycle"
    assert [i.status for i in items(bench, "full defoliation")] == ["wished"]  # in the next one


def test_seen_stages_move_the_windows_that_hang_on_them() -> None:
    bench = alone(AZALEA)
    today = date(2015, 6, 20)
    (before,) = items(bench, "prune after bloom", today, 2015)
    over = date(2015, 6, 14)
    bench.write(over, "seen", "it", stage="bloom_over")
    (after,) = items(bench, "prune after bloom", today, 2015)
    assert after.opens.early == after.opens.late == over
    assert after.closes.early == after.closes.late == over + timedelta(days=35)
    assert (before.opens.late - before.opens.early).days > 14


def test_leaf_fall_seen_a_week_late_is_that_of_the_autumn_it_came_in() -> None:
    bench = alone(MAPLE)
    today = date(2015, 12, 15)
    before = stage_of(bench.plan(today), bench.trees[0], "bud_break", 2016).range
    late = date(2015, bench.garden.leaf_fall.month, bench.garden.leaf_fall.day) + timedelta(days=7)
    bench.write(late, "seen", "it", stage="leaf_fall")
    plan, tree = bench.plan(today), bench.trees[0]
    assert stage_of(plan, tree, "bud_break", 2016).range == before
    assert stage_of(plan, tree, "leaf_fall", 2015).range == Range(late, late, late)
    assert [stage_of(plan, tree, "leaf_fall", cycle).seen for cycle in (2015, 2016)] == [True, False]


@pytest.mark.parametrize("days", [(3, 23), (23, 3)])
@pytest.mark.parametrize(("stage", "month"), [("leaves_present", 4), ("colour", 11)])
def test_a_day_written_again_corrects_the_first_this_year_and_in_what_it_teaches(
    days: tuple[int, int], stage: str, month: int
) -> None:
    """Whether the right day is the later or the earlier: it is as if it had been written alone."""
    wrong, right = (date(2014, month, day) for day in days)
    series = invented_series(date(2000, 1, 1), date(2015, 12, 31), mean_c=11.0, swing_c=11.0)
    twice, once = (bench_on_series(series, 45.0, TODAY) for _ in range(2))
    for bench, told in ((twice, (wrong, right)), (once, (right,))):
        bench.tree("it", MAPLE)
        for number, day in enumerate(told):
            seen = bench.write(day, "seen", "it", stage=stage)
            bench.entries[-1] = replace(seen, recorded_at=datetime(2014, 12, 1 + number, tzinfo=UTC))
    for today in (date(2014, 12, 20), date(2015, 2, 1)):
        assert twice.plan(today).stages == once.plan(today).stages


def test_what_is_noted_late_in_the_year_does_not_open_the_windows_of_the_next() -> None:
    bench, today = alone(MAPLE), date(2015, 10, 1)
    bench.write(date(2015, 9, 25), "seen", "it", stage="leaves_hardened")
    (item,) = items(bench, "cut back", today, 2016)
    assert item.opens.likely > date(2016, 5, 1)


def housed(species: str = MAPLE) -> Bench:
    """One tree on a bench, in a garden that has a cold frame, a frost-free shed and a heated room as well."""
    bench = bench_on_normals("Nagano")
    places: tuple[ThermalProfile, ...] = ("open", "cold frame", "frost-free", "heated")
    for spot, place in zip((BENCH, FRAME, SHED, HOUSE), places, strict=True):
        bench.spots[spot] = Spot(spot, bench.garden.id, place, profile=place)
    bench.tree("it", species, aim="ramification", vigour=5, spot=str(BENCH))
    return bench


def move(bench: Bench, day: date, spot: UUID) -> None:
    bench.write(day, "state", "it", spot=str(spot))


@pytest.mark.parametrize("day", ["2013-04-02", "2013-09-20", "2013-09-28", "2013-11-10", "2014-01-10"])
def test_the_rota_of_repotting_and_the_plan_tell_the_same_spring(day: str) -> None:
    bench = alone(MAPLE)
    bench.did(date.fromisoformat(day), "repot", "it")
    early = bench.plan(date(2014, 2, 1))
    state = states([bench.trees[0].id], bench.entries, early.today)
    (turn,) = repotting(Grove(bench.garden, {}, bench.trees, state), knowledge(), early)
    springs = range(2014, 2019)
    status = {year: items(bench, "repot", date(year, 2, 1), year) for year in springs}
    due = [year for year, found in status.items() if found and found[0].status == "due"]
    assert turn.year == due[0]


def test_a_look_that_nobody_answers_stays_due_on_its_day_for_years() -> None:
    """Wired in June 2015: whenever it is asked, the look was due within days of the day it was due at first."""
    bench = alone(MAPLE)
    bench.did(date(2015, 6, 1), "wire", "it")
    days = [date(2015, 6, 5), date(2016, 8, 1), date(2017, 4, 12), date(2017, 5, 22), date(2018, 12, 1)]
    looks = [
        next(i for i in items(bench, "look", day) if i.rule.startswith("look at the wire")) for day in days
    ]
    due = [look.opens.likely for look in looks]
    assert max(due) - min(due) <= timedelta(days=5)


def test_moving_in_this_winter_does_not_do_for_the_next() -> None:
    bench = housed()
    move(bench, date(2015, 12, 5), FRAME)
    today = date(2015, 12, 10)
    assert items(bench, "shelter in", today, 2015) == []
    (out,) = items(bench, "shelter out", today)
    assert (out.cycle, out.status, out.to) == (2016, "due", BENCH)
    assert [item.status for item in items(bench, "shelter in", today, 2016)] == ["due"]
    move(bench, date(2016, 4, 20), BENCH)
    (back,) = items(bench, "shelter in", date(2016, 11, 1))
    assert (back.cycle, back.status, back.to, back.also) == (2016, "due", FRAME, (SHED,))


def test_what_was_logged_as_a_move_and_names_no_spot_moves_nothing() -> None:
    """As entries of older logs do."""
    bench = housed()
    before = items(bench, "shelter in", date(2015, 12, 10))
    bench.did(date(2015, 12, 5), "shelter in", "it")
    assert before
    assert items(bench, "shelter in", date(2015, 12, 10)) == before


def test_wiring_done_just_after_an_early_leaf_fall_is_done() -> None:
    bench = alone(MAPLE)
    bench.write(date(2015, 11, 1), "wish", "it", operation="wire", cycle=2016)
    bench.write(date(2015, 11, 12), "seen", "it", stage="leaf_fall")
    today = date(2015, 11, 16)
    assert today < date(2015, bench.garden.leaf_fall.month, bench.garden.leaf_fall.day)
    assert "wire after leaf fall" in [item.rule for item in items(bench, "wire", today)]
    bench.did(today, "wire", "it")
    assert "wire after leaf fall" not in [item.rule for item in items(bench, "wire", today)]


def test_a_wish_that_was_met_is_not_planned_again_in_that_cycle() -> None:
    bench = alone(MAPLE)
    bench.write(date(2015, 11, 1), "wish", "it", operation="wire", cycle=2016)
    bench.did(date(2015, 12, 5), "wire", "it")
    found = items(bench, "wire", date(2015, 12, 10), 2016)
    assert "wished" not in [item.status for item in found]


def test_winter_shelter_stays_in_the_plan_after_leaf_fall() -> None:
    bench = alone(MAPLE)
    assert items(bench, "shelter in", date(2015, 12, 1), 2015)


@pytest.mark.parametrize(("profile", "stands"), [("open", "stands_open"), ("frost-free", "stands_sheltered")])
def test_a_move_makes_sense_from_where_the_tree_stands(profile: str, stands: str) -> None:
    bench = alone(MAPLE)
    spot = Spot(UUID(int=9), bench.garden.id, "spot", profile=profile)  # type: ignore[arg-type]
    bench.spots[spot.id] = spot
    bench.write(date(2015, 1, 1), "state", "it", spot=str(spot.id))
    winter, spring = date(2015, 12, 1), date(2016, 3, 10)
    told = [refused(bench, "shelter in", 2015, winter), refused(bench, "shelter out", 2016, spring)]
    assert [stands in codes_ for codes_ in told] == [stands == "stands_sheltered", stands == "stands_open"]


def test_a_winter_indoors_brings_spring_earlier() -> None:
    bench = alone(MAPLE)
    before = stage_of(bench.plan(date(2016, 2, 1)), bench.trees[0], "bud_break", 2016).range
    for number, (profile, day) in enumerate([("open", date(2015, 1, 1)), ("frost-free", date(2015, 12, 1))]):
        spot = Spot(UUID(int=number), bench.garden.id, profile, profile=profile)  # type: ignore[arg-type]
        bench.spots[spot.id] = spot
        bench.write(day, "state", "it", spot=str(spot.id))
    after = stage_of(bench.plan(date(2016, 2, 1)), bench.trees[0], "bud_break", 2016).range
    assert before is not None
    assert after is not None
    assert after.likely < before.likely
