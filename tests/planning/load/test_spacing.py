"""Spacing: what a tree has borne and recovers from, what speaks against more, and the order in which least is lost.

Weights are those of the bundled operations: repotting 3, full defoliation 2, wiring and severing 1.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import permutations, product
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.state import Wish
from calendar_core.planning.items import Range
from calendar_core.planning.load.order import OrderChoice, Proposal, Wanted, choice, order
from calendar_core.planning.load.spacing import LoadJob
from tests.planning.made_up import knowledge
from tests.planning.one_tree import MAPLE, PINE, alone
from tests.planning.spaced import HEAT_A_DAY, rules_of, spacing_of, still

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.planning.load.spacing import Spacing

REPOT, LEAVES, WIRE, SEVER = "repot", "full defoliation", "wire", "sever graft"
WEIGHT = {REPOT: 3, LEAVES: 2, WIRE: 1, SEVER: 1}
SPRING = date(2015, 3, 20)
RULES = rules_of({REPOT: 600, LEAVES: 400, WIRE: 300}, [{"of": (SEVER, REPOT), "same_cycle": True}])


def codes(found: Sequence[Any]) -> list[str]:
    return [reason.code for reason in found]


# Load and recovery


def test_recovery_ends_when_its_heat_has_come() -> None:
    tree = still(RULES, (REPOT, SPRING))
    day = SPRING + timedelta(days=60)  # 600 at 10 a day
    assert tree.recovered(REPOT, SPRING) == Range(day, day, day)
    load = tree.load(SPRING + timedelta(days=15))
    assert (load.used, load.budget) == (3, 3)
    assert [strain.left for strain in load.strains] == [pytest.approx(0.75)]


def test_recovery_is_a_range_over_the_possible_years() -> None:
    """By its rule twelve weeks of a temperate spring; Nagano's is colder in March and warmer in May."""
    bench = alone(MAPLE)
    bench.did(SPRING, REPOT, "it")
    found = spacing_of(bench, "it", date(2015, 4, 1)).recovered(REPOT, SPRING)
    assert found is not None
    assert found.early < found.likely < found.late
    assert timedelta(weeks=9) <= found.likely - SPRING <= timedelta(weeks=14)


def test_sittings_of_one_job_weigh_once_and_light_foliage_nothing() -> None:
    days = [SPRING + timedelta(days=n) for n in (0, 10, 20, 60)]
    tree = still(RULES, *((WIRE, day) for day in days), ("cut back", SPRING))
    assert [(job.on, job.weight) for job in tree.jobs] == [(days[2], 1), (days[3], 1)]
    assert (tree.weight("cut back"), tree.weight("cut back", 0.4), tree.weight("cut back", 0.6)) == (0, 0, 1)


def test_work_of_the_cycle_before_is_not_counted() -> None:
    tree = still(
        RULES, (REPOT, date(2014, 10, 20)), (WIRE, date(2014, 11, 5))
    )  # the cycle begins on 1 November
    assert tree.load(date(2014, 11, 10)).used == 1


def test_work_from_before_the_weather_makes_nothing_wait() -> None:
    tree = still(RULES, (REPOT, date(2013, 3, 1)), vigour=5)
    assert tree.recovered(REPOT, date(2013, 3, 1)) is None
    assert tree.warnings(LEAVES, SPRING) == ()


# What speaks against more


@pytest.mark.parametrize(
    ("operation", "days", "told"),
    [
        (LEAVES, 30, ["not_recovered", "over_budget"]),
        (LEAVES, 60, ["over_budget"]),
        (SEVER, 100, ["apart_cycle", "over_budget"]),
        ("pinch", 1, []),  # weighs nothing
        (REPOT, 5, []),  # the same job, at another sitting
        (WIRE, 300, []),  # in the next cycle
    ],
)
def test_what_speaks_against_work_after_repotting(operation: str, days: int, told: list[str]) -> None:
    tree = still(RULES, (REPOT, SPRING))
    assert codes(tree.warnings(operation, SPRING + timedelta(days=days))) == told


def test_a_strong_tree_bears_more_but_one_heavy_job_as_in_the_plan() -> None:
    on = SPRING + timedelta(days=90)
    assert codes(still(RULES, (REPOT, SPRING), vigour=5).warnings(LEAVES, on)) == ["heavy_done"]
    asked = Wish(LEAVES, 2015, anyway=True)
    assert still(RULES, (REPOT, SPRING), vigour=5, wishes=[asked]).warnings(LEAVES, on) == ()
    assert codes(still(RULES, (REPOT, SPRING), vigour=2).warnings(WIRE, on)) == ["over_budget"]


def test_reasons_name_the_work_its_day_and_the_values() -> None:
    recovery, budget = still(RULES, (REPOT, SPRING)).warnings(LEAVES, SPRING + timedelta(days=30))
    assert (recovery.subject, recovery.found, recovery.needed) == (REPOT, SPRING, SPRING + timedelta(days=60))
    assert (budget.found, budget.needed) == (5, 3)


def test_waits_of_the_profile_count_by_their_direction() -> None:
    hold = {"after": WIRE, "weeks": 4, "basis": "common practice"}
    work = [{"operation": REPOT, "holds": [hold]}]
    soon, later = SPRING + timedelta(weeks=3), SPRING + timedelta(weeks=4)
    waiting = still(RULES, (WIRE, SPRING), vigour=5, work=work)
    assert codes(waiting.warnings(REPOT, soon)) == ["hold"]
    assert waiting.warnings(REPOT, later) == ()
    other_way = still(rules_of({}), (REPOT, SPRING), vigour=5, work=work)
    assert other_way.warnings(WIRE, soon) == ()


def test_a_pine_is_not_decandled_in_the_year_of_its_repotting() -> None:
    """Trade rule: repotting and decandling not in one year."""
    bench = alone(PINE)
    bench.did(date(2015, 3, 25), REPOT, "it")
    found = spacing_of(bench, "it", date(2015, 6, 20)).warnings("decandling", date(2015, 6, 25))
    assert codes(found)[0] == "hold"
    assert found[0].needed == 52


# The order: against every day of every window, written out


class Case(NamedTuple):
    """A made-up tree and what is wanted of it."""

    recovery: dict[str, int]
    pairs: list[tuple[tuple[str, str], int]]  # weeks apart; 0: not in one cycle
    budget: list[int]
    vigour: int
    done: list[tuple[str, date]]
    wanted: list[Wanted]

    def tree(self, vigour: int | None = None) -> Spacing:
        apart = [
            {"of": of, "weeks": weeks} if weeks else {"of": of, "same_cycle": True}
            for of, weeks in self.pairs
        ]
        rules = rules_of({**self.recovery}, apart, self.budget)
        return still(rules, *self.done, vigour=vigour or self.vigour)


def windows(starts: list[tuple[int, int]]) -> tuple[tuple[date, date], ...]:
    """One window in 2015 and, of two, one in 2016: a first day in April and May, and a length."""
    springs = [date(2015 + year, 4, 1) + timedelta(days=start) for year, (start, _) in enumerate(starts)]
    return tuple((day, day + timedelta(days=long)) for day, (_, long) in zip(springs, starts, strict=True))


SPANS = st.lists(st.tuples(st.integers(0, 40), st.integers(0, 5)), min_size=1, max_size=2).map(windows)
PAIR = st.sampled_from([(a, b) for a, b in product(WEIGHT, WEIGHT) if a < b])
CASES = st.builds(
    Case,
    st.fixed_dictionaries({name: st.integers(1, 30).map(lambda days: 10 * days) for name in WEIGHT}),
    st.lists(st.tuples(PAIR, st.integers(0, 4)), max_size=3),
    st.lists(st.integers(0, 7), min_size=5, max_size=5).map(sorted),
    st.integers(1, 5),
    st.lists(
        st.tuples(st.sampled_from(sorted(WEIGHT)), st.integers(0, 50).map(lambda n: date(2015, 2, 5) + timedelta(days=n))),
        max_size=2,
        unique_by=lambda one: one[0],
    ),
    st.lists(
        st.builds(lambda name, value, spans: Wanted(name, WEIGHT[name], value, spans), st.sampled_from(sorted(WEIGHT)), st.integers(1, 3), SPANS),
        min_size=1,
        max_size=3,
        unique_by=lambda one: one.operation,
    ),
)  # fmt: skip


def cycle(day: date) -> int:
    return day.year + (day.month >= 11)


def may_follow(case: Case, first: tuple[str, date], then: tuple[str, date]) -> bool:
    """One job after another, by the rules as a grower reads them."""
    (a, on), (b, day) = first, then
    days = (day - on).days
    if a == b and days <= 14:
        return True
    if cycle(on) == cycle(day) and a != b and WEIGHT[a] >= 2 and WEIGHT[b] >= 2:
        return False
    for pair, weeks in case.pairs:
        if {a, b} == set(pair) and (days < 7 * weeks if weeks else cycle(on) == cycle(day)):
            return False
    return WEIGHT[a] < 2 or days >= case.recovery[a] / HEAT_A_DAY


def used(case: Case, planned: Sequence[tuple[str, date]], year: int) -> int:
    """What a cycle weighs; another sitting of a job within two weeks weighs nothing."""
    fresh = [
        (name, day)
        for name, day in planned
        if not any(name == other and abs((day - on).days) <= 14 for other, on in case.done)
    ]
    return sum(WEIGHT[name] for name, day in (*case.done, *fresh) if cycle(day) == year)


def allowed(case: Case, planned: Sequence[tuple[str, date]]) -> bool:
    """Whether work may stand on its days: within the budget, and in some order of the day nothing too soon."""
    budget = case.budget[case.vigour - 1]
    if any(used(case, planned, year) > max(budget, used(case, [], year)) for year in (2015, 2016)):
        return False
    orders = [way for way in permutations(planned) if list(way) == sorted(way, key=lambda one: one[1])]
    log = sorted(case.done, key=lambda one: one[1])
    return any(
        all(may_follow(case, first, then) for n, then in enumerate(way) for first in (*log, *way[:n]))
        for way in orders
    )


def least_lost(case: Case) -> int:
    """Try every day of every window, and leaving out."""
    ways: list[list[tuple[int, date | None]]] = []
    for one in case.wanted:
        days = [
            (one.value * place, first + timedelta(days=n))
            for place, (first, last) in enumerate(one.windows)
            for n in range((last - first).days + 1)
        ]
        ways.append([*days, (one.value * len(one.windows), None)])
    names = [one.operation for one in case.wanted]
    best = sum(one.value * len(one.windows) for one in case.wanted)
    for way in product(*ways):
        lost = sum(cost for cost, _ in way)
        if lost < best and allowed(
            case, [(name, day) for name, (_, day) in zip(names, way, strict=True) if day]
        ):
            best = lost
    return best


def days_of(found: Proposal) -> list[tuple[str, date]]:
    return [(one.operation, one.on) for one in found.placed if one.on is not None]


@given(CASES)
@settings(max_examples=150, deadline=None)
def test_no_choice_of_days_loses_less(case: Case) -> None:
    found = order(case.tree(), case.wanted)
    assert found.lost == least_lost(case)


@pytest.mark.slow
@given(CASES)
@settings(max_examples=150, deadline=None)
def test_a_proposal_keeps_gaps_recovery_and_budget(case: Case) -> None:
    found = order(case.tree(), case.wanted)
    assert allowed(case, days_of(found))
    assert sorted(one.operation for one in found.placed) == sorted(one.operation for one in case.wanted)
    for one in found.placed:
        wanted = next(w for w in case.wanted if w.operation == one.operation)
        assert one.on is None or any(first <= one.on <= last for first, last in wanted.windows)
        moved = one.on != wanted.windows[0][0]
        assert bool(one.reasons) == moved, one


@pytest.mark.slow
@given(CASES)
@settings(max_examples=100, deadline=None)
def test_more_vigour_never_gives_less(case: Case) -> None:
    lost = [order(case.tree(vigour), case.wanted).lost for vigour in range(1, 6)]
    assert lost == sorted(lost, reverse=True)
    on = date(2015, 4, 10)
    for operation in WEIGHT:
        told = ["over_budget" in codes(case.tree(vigour).warnings(operation, on)) for vigour in range(1, 6)]
        assert told == sorted(told, reverse=True)


@given(CASES, st.data())
@settings(max_examples=100, deadline=None)
def test_a_choice_that_breaks_no_rule_cannot_beat_the_best_order(case: Case, data: Any) -> None:
    mine = data.draw(st.sampled_from(case.wanted))
    first, last = data.draw(st.sampled_from(mine.windows))
    on = first + timedelta(days=data.draw(st.integers(0, (last - first).days)))
    found = choice(case.tree(), mine, [one for one in case.wanted if one is not mine], on)
    assert found.cost == found.chosen.lost - found.best.lost
    if not found.against:
        assert found.cost >= 0
        assert allowed(case, days_of(found.chosen))
    # Over the budget goes the choice alone: beside it nothing is placed that would add to the excess.
    others = [(name, day) for name, day in days_of(found.chosen) if name != mine.operation]
    chosen, budget = (mine.operation, on), case.budget[case.vigour - 1]
    for year in (2015, 2016):
        assert used(case, [*others, chosen], year) <= max(budget, used(case, [chosen], year))


# A grower's case: sever the graft first, repot next spring


def spring(year: int) -> tuple[date, date]:
    return date(year, 3, 10), date(year, 3, 31)


def late_summer(year: int) -> tuple[date, date]:
    return date(year, 8, 15), date(year, 9, 15)


def severing(repot_value: int = 2) -> tuple[Wanted, Wanted]:
    years = (2015, 2016, 2017)
    sever = Wanted(SEVER, 1, 2, tuple(late_summer(year) for year in years))
    return sever, Wanted(REPOT, 3, repot_value, tuple(spring(year) for year in years[1:]))


def told(found: OrderChoice) -> dict[str, date | None]:
    return {one.operation: one.on for one in found.best.placed}


def test_the_graft_is_severed_first_and_the_tree_repotted_next_spring() -> None:
    sever, repot = severing()
    found = choice(still(RULES, vigour=5), sever, [repot], date(2015, 8, 20))
    assert told(found) == {SEVER: date(2015, 8, 15), REPOT: date(2016, 3, 10)}
    assert (found.best.lost, found.cost, found.against) == (0, 0, ())


def test_to_sever_it_in_the_year_of_repotting_costs_a_year() -> None:
    sever, repot = severing()
    found = choice(still(RULES, vigour=5), sever, [repot], date(2016, 8, 20))
    waits = {one.operation: one.waits for one in found.chosen.placed}
    assert waits == {SEVER: 1, REPOT: 1}
    assert found.cost == sever.value + repot.value


def test_work_written_down_against_the_rules_leaves_no_room_beside_it() -> None:
    _, repot = severing()
    overdone = still(RULES, (LEAVES, date(2015, 12, 1)), (SEVER, date(2016, 2, 1)), vigour=3)
    (placed,) = order(overdone, [repot]).placed
    assert (placed.on, placed.waits) == (date(2017, 3, 10), 1)
    assert codes(placed.reasons) == ["apart_cycle", "over_budget"]


def test_what_is_planned_is_not_called_done() -> None:
    wanted = [
        Wanted(REPOT, 3, 2, (spring(2016),)),
        Wanted(LEAVES, 2, 1, ((date(2016, 7, 1), date(2016, 7, 9)),)),
    ]
    last = order(still(RULES, vigour=5), wanted).placed[-1]
    assert (last.operation, last.on, codes(last.reasons)) == (LEAVES, None, ["one_heavy_job"])


def test_work_makes_room_for_what_is_worth_more_and_comes_soon_after() -> None:
    rules = rules_of({}, [{"of": (SEVER, WIRE), "weeks": 3}])
    wanted = [
        Wanted(SEVER, 1, 5, ((date(2015, 6, 10), date(2015, 6, 12)),)),
        Wanted(WIRE, 1, 1, ((date(2015, 6, 1), date(2015, 8, 1)),)),
    ]
    first, then = order(still(rules, vigour=5), wanted).placed
    assert (first.operation, then.on) == (SEVER, date(2015, 7, 1))
    assert codes(then.reasons) == ["makes_room"]


def test_the_bundled_order_of_an_idle_tree_loses_nothing() -> None:
    spacing = spacing_of(alone(MAPLE, vigour=3), "it", date(2015, 6, 1))
    sever, repot = severing()
    assert order(spacing, [sever, repot]).lost == 0
    assert spacing.against(LoadJob(REPOT, date(2016, 3, 12), knowledge().operations[REPOT].weight), ()) == ()
