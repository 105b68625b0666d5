"""The heavy work of a year on weeks: windows, hours and one job a tree hold, and what rests says why. All made up."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any
from uuid import uuid5

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.state import states
from calendar_core.planning.items import Item, Plan, Range, Reason
from calendar_core.planning.review.next_year import NextYear, next_year, soil_signs
from calendar_core.planning.seasons.species_stages import Grove
from calendar_core.weather.traces import WeatherKnown
from tests.planning.made_up import ROOT, Bench, bench_on_normals, knowledge

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.knowledge.words import SizeClass
    from calendar_core.planning.items import Status

TODAY = date(2015, 11, 30)  # a Monday
SIZES: tuple[SizeClass, ...] = ("small", "medium", "large")


def bench_of(n: int, **state: Any) -> Bench:
    bench = bench_on_normals("Nagano")
    for k in range(n):
        bench.tree(f"Maple {k}", "acer-palmatum", **{"vigour": 4, "size": SIZES[k % 3], **state})
    return bench


def grove_of(bench: Bench, today: date = TODAY) -> Grove:
    ids = [tree.id for tree in bench.trees]
    return Grove(bench.garden, bench.spots, bench.trees, states(ids, bench.entries, today))


def item(
    bench: Bench, tree: int, operation: str = "repot", first: int = 100, last: int = 113,
    status: Status = "due", cycle: int = 2016, part: str = "", why: str = "interval",
) -> Item:  # fmt: skip
    opens, closes = TODAY + timedelta(days=first), TODAY + timedelta(days=last)
    made = bench.trees[tree]
    identity = uuid5(ROOT, f"{tree} {operation} {first} {last} {cycle} {part}")
    return Item(
        identity, made.id, made.species, operation, operation, cycle, "structure", Range(opens, opens, opens),
        Range(closes, closes, closes), 1.0, status, "made up", (Reason(why),), part=part,
        part_id=uuid5(ROOT, part) if part else None,
    )  # fmt: skip


def plan_of(*items: Item) -> Plan:
    return Plan(TODAY, items, (), {}, WeatherKnown("normals", 0, None, "made up", None))


def free(weekly: Sequence[int], days: int = 365) -> Any:
    return np.array([weekly[day % 7] for day in range(days)], dtype=np.int64)


def year(bench: Bench, *items: Item, weekly: Sequence[int] = (0, 0, 0, 0, 0, 60, 0)) -> NextYear:
    return next_year(plan_of(*items), grove_of(bench), knowledge(), free(weekly))


def worth_left(found: NextYear) -> int:
    return sum(job.worth for job in found.no_time)


def test_a_spring_of_three_trees_by_hand() -> None:
    """An hour each Saturday and two Saturdays: 32, 45 and 72 min (45 times 0.7, 1 and 1.6) need three hours they have not."""
    bench = bench_of(3)
    items = [item(bench, k, first=103, last=116) for k in range(3)]  # Saturdays 12 and 19 March 2016
    found = year(bench, *items)
    assert [placed.week for placed in found.jobs] == [date(2016, 3, 7), date(2016, 3, 14)]
    assert {placed.job.tree_id for placed in found.jobs} == {bench.trees[0].id, bench.trees[1].id}
    assert [job.tree_id for job in found.no_time] == [bench.trees[2].id]
    assert [job.minutes for job in found.no_time] == [72]
    assert found.proven


@pytest.mark.parametrize(("wish", "due"), [(1, 4), (4, 1)])
def test_a_wish_goes_before_what_is_due(wish: int, due: int) -> None:
    bench = bench_of(6)
    items = [item(bench, due, last=104), item(bench, wish, last=104, status="wished", why="wished")]
    found = year(bench, *items)
    assert [placed.job.tree_id for placed in found.jobs] == [bench.trees[wish].id]


def test_of_two_windows_of_one_work_the_one_with_time_is_taken() -> None:
    """The first window has weekdays alone, on which there is no time."""
    bench = bench_of(2)
    early, late = item(bench, 1, first=98, last=101), item(bench, 1, first=140, last=160)
    found = year(bench, early, late)
    assert [placed.job.items for placed in found.jobs] == [(late,)]
    assert not found.no_time
    assert not found.put_off


def test_parts_that_get_the_same_are_one_job_and_other_work_of_the_cycle_waits() -> None:
    bench = bench_of(2)
    parts = [item(bench, 1, "structural prune", status="wished", part=name) for name in ("low", "high")]
    rival = item(bench, 1, "decandling", first=200, last=220, why="programme")
    found = year(bench, *parts, rival)
    (placed,) = found.jobs
    assert (placed.job.items, placed.job.minutes) == (tuple(parts), 60)
    (rests,) = found.put_off
    assert (rests.operation, [reason.code for reason in rests.reasons]) == ("decandling", ["one_heavy_job"])


def test_the_end_of_a_cycle_and_the_beginning_of_the_next_are_one_year() -> None:
    bench = bench_of(2)
    now = item(bench, 1, "structural prune", first=-20, last=8, cycle=2015, why="programme")
    found = year(bench, now, item(bench, 1, cycle=2016))
    assert [placed.job.operation for placed in found.jobs] == ["repot"]
    assert [absent.operation for absent in found.put_off] == ["structural prune"]


def test_what_is_wished_beside_another_job_gets_its_own_week() -> None:
    bench = bench_of(2)
    bench.write(TODAY, "wish", "Maple 1", operation="structural prune", cycle=2016, anyway=True)
    items = [
        item(bench, 1),
        item(bench, 1, "structural prune", first=200, last=220, status="wished", why="wished"),
    ]
    found = year(bench, *items)
    assert [(placed.job.operation, placed.job.beside) for placed in found.jobs] == [
        ("repot", False),
        ("structural prune", True),
    ]


CASES = st.lists(
    st.tuples(
        st.integers(0, 5), st.integers(0, 300), st.integers(0, 30), st.sampled_from(["interval", "programme"])
    ),
    min_size=1,
    max_size=8,
    unique_by=lambda case: case[0],
)


@settings(max_examples=40, deadline=None)
@given(cases=CASES, base=st.lists(st.integers(0, 60), min_size=7, max_size=7), more=st.integers(0, 60))
def test_hours_windows_and_trees_hold_and_more_hours_never_leave_out_more(
    cases: list[tuple[int, int, int, str]], base: list[int], more: int
) -> None:
    bench = bench_of(6)
    items = [item(bench, tree, first=a, last=a + b, why=why) for tree, a, b, why in cases]
    found = year(bench, *items, weekly=base)
    assert found.proven
    assert len(found.jobs) + len(found.no_time) == len(items)
    for week in {placed.week for placed in found.jobs}:
        jobs = [placed.job for placed in found.jobs if placed.week == week]
        sunday = week + timedelta(days=6 - week.weekday())
        assert sum(job.minutes for job in jobs) <= sum(base)
        assert all(job.first <= sunday and job.last >= week for job in jobs)
    with_more = year(bench, *items, weekly=[minutes + more for minutes in base])
    assert worth_left(with_more) <= worth_left(found)


@pytest.mark.parametrize(
    ("state", "codes"),
    [
        ({"vigour": 2}, ["spared_weak"]),
        ({"aim": "recovery"}, ["spared_recovers"]),
        ({"vigour": 1, "aim": "recovery"}, ["spared_weak", "spared_recovers"]),
        ({}, []),
    ],
)
def test_weak_and_recovering_trees_are_left_alone(state: dict[str, Any], codes: list[str]) -> None:
    found = year(bench_of(1, **state))
    assert [reason.code for tree in found.spared for reason in tree.reasons] == codes


def test_what_bore_a_heavy_job_in_this_cycle_is_left_alone_and_what_did_before_is_not() -> None:
    bench = bench_of(2)
    bench.did(date(2015, 11, 25), "structural prune", "Maple 0")  # after leaf fall, so of the cycle 2016
    bench.did(date(2015, 6, 1), "structural prune", "Maple 1")
    found = year(bench)
    assert [(tree.tree_id, tree.reasons[0].found) for tree in found.spared] == [
        (bench.trees[0].id, date(2015, 11, 25))
    ]


def reviewed(bench: Bench, on: date, cycle: int, **answers: str | float) -> None:
    bench.write(
        on,
        "review",
        "Maple 0",
        round="after leaf fall",
        cycle=cycle,
        depth="full",
        answers={"drainage": 20.0, **answers},
    )


@pytest.mark.parametrize(
    ("answers", "seconds", "bad"),
    [
        ({"drainage": 95.0}, 95.0, ()),
        ({"drainage": 60.0}, 60.0, ()),
        ({"roots": "bad", "pot": "bad"}, None, ("roots", "pot")),
    ],
)
def test_soil_that_drains_badly_is_told_until_it_is_new(
    answers: dict[str, str | float], seconds: float | None, bad: tuple[str, ...]
) -> None:
    bench = bench_of(2)
    reviewed(bench, date(2014, 11, 20), 2015)
    rules = knowledge().review
    assert not soil_signs(grove_of(bench), rules)
    reviewed(bench, date(2015, 11, 20), 2016, **answers)
    (signs,) = soil_signs(grove_of(bench), rules)
    assert (signs.tree_id, signs.seconds, signs.bad) == (bench.trees[0].id, seconds, bad)
    bench.did(date(2016, 3, 20), "repot", "Maple 0")
    assert not soil_signs(grove_of(bench, date(2016, 4, 1)), rules)


def test_the_plan_of_a_real_garden_gives_each_tree_one_job() -> None:
    bench = bench_of(4)
    bench.tree("Pine", "pinus-thunbergii", vigour=5, aim="ramification")
    for label in ("Maple 0", "Maple 1", "Maple 2", "Maple 3", "Pine"):
        bench.did(date(2011, 3, 20), "repot", label)
        bench.write(TODAY, "wish", label, operation="structural prune", cycle=None)
    found = next_year(bench.plan(TODAY), grove_of(bench), knowledge(), free((60,) * 7))
    once = [placed.job.tree_id for placed in found.jobs]
    assert len(once) == len(set(once)) == 5
    assert found.put_off
    assert not found.no_time


def test_an_empty_garden_has_an_empty_year() -> None:
    found = year(bench_of(0))
    assert not (found.jobs)
    assert not (found.no_time)
    assert not (found.put_off)
    assert not (found.spared)
    assert not (found.soil)
    assert found.proven
