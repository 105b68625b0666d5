"""Tasks of one tree that it cannot bear together. The works, trees and rules are made up."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations
from typing import TYPE_CHECKING
from uuid import UUID

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.garden.state import TreeState
from calendar_core.planning.feeding.holds import FeedingHold
from calendar_core.planning.groups import EventGroup
from calendar_core.planning.items import Follows, Item, Range, Reason, item_id
from calendar_core.planning.load.spacing import LoadJob
from calendar_core.planning.rota.days_apart import fed_in_time, kept_apart
from calendar_core.planning.rota.tasks import tasks_of
from tests.planning.made_up import knowledge
from tests.planning.spaced import rules_of, still

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.planning.load.spacing import Spacing
    from calendar_core.planning.rota.tasks import Task

TREE, DAY = UUID(int=1), date(2015, 6, 22)
WEIGHTS = {
    "structural prune": 3,
    "decandling": 2,
    "air layer": 2,
    "wire": 1,
    "sever graft": 1,
    "thread graft": 1,
}
FAR = 100  # days: to the end of the cycle


def tasks(operations: Sequence[str]) -> tuple[Task, ...]:
    """One task for each operation, of one tree, from DAY on."""
    span, end = Range(DAY, DAY, DAY), DAY + timedelta(days=27)
    closes = Range(end, end, end)
    groups = []
    for n, operation in enumerate(operations):
        item = Item(
            item_id(TREE, TREE, operation, 2015), TREE, "acer-palmatum", operation, operation, 2015, "structure",
            span, closes, 1.0, "due", "", (Reason("programme"),),
        )  # fmt: skip
        groups.append(EventGroup(UUID(int=n), operation, 2015, DAY, end, (item,)))
    states = {TREE: TreeState()}
    return tasks_of(groups, states, knowledge().operations, DAY, np.full(28, 120))


def apart(spacing: Spacing, *operations: str) -> dict[frozenset[str], int]:
    """By the names of two operations the days between them, whichever comes first."""
    found = tasks(operations)
    names = {task.job.id: task.group.items[0].operation for task in found}
    ordered = kept_apart(found, {TREE: spacing})
    assert all(ordered[pair[::-1]] == days for pair, days in ordered.items())
    return {frozenset(names[one] for one in pair): days for pair, days in ordered.items()}


def test_what_is_too_much_together_is_not_of_one_cycle() -> None:
    ((pair, days),) = apart(still(rules_of({}), vigour=3), "structural prune", "wire").items()
    assert pair == {"structural prune", "wire"}
    assert days > FAR
    assert apart(still(rules_of({}), vigour=4), "structural prune", "wire") == {}


def test_a_gap_between_two_works_is_kept_whichever_comes_first() -> None:
    rules = rules_of({}, [{"of": ["wire", "thread graft"], "weeks": 4}])
    assert apart(still(rules), "thread graft", "wire") == {frozenset(("thread graft", "wire")): 28}


def test_a_heavy_job_is_recovered_from_first() -> None:
    rules = rules_of({"decandling": 300})  # thirty days at 10 degC d
    assert apart(still(rules), "decandling", "wire") == {frozenset(("decandling", "wire")): 30}


def test_work_of_the_log_counts() -> None:
    borne = still(rules_of({}), ("thread graft", date(2015, 4, 1)), vigour=3)
    assert len(apart(borne, "decandling", "wire")) == 1
    assert apart(still(rules_of({}), vigour=3), "decandling", "wire") == {}


@given(st.lists(st.sampled_from(sorted(WEIGHTS)), unique=True), st.integers(1, 5))
def test_no_works_that_may_stand_together_pass_the_budget(operations: list[str], vigour: int) -> None:
    assert all(knowledge().operations[name].weight == weight for name, weight in WEIGHTS.items())
    spacing = still(rules_of({}), vigour=vigour)
    near = apart(spacing, *operations)
    for some in (chosen for n in range(2, 7) for chosen in combinations(operations, n)):
        jobs = [LoadJob(name, DAY, WEIGHTS[name]) for name in some]
        if not any(frozenset(pair) in near for pair in combinations(some, 2)):
            assert spacing.used(jobs, 2015) <= spacing.budget


def test_what_is_fed_waits_after_work_that_is_only_planned_and_ends_before_it() -> None:
    """Of the profile: four weeks after repotting; of config/feeding.toml: after any decandling."""
    spacing = replace(
        still(rules_of({})), profile=knowledge().profiles["acer-palmatum"], operations=knowledge().operations
    )
    found = tasks(["repot", "feeding"])
    repot, feeding = (
        next(task.job.id for task in found if task.group.items[0].operation == operation)
        for operation in ("repot", "feeding")
    )
    ordered = kept_apart(found, {TREE: spacing}, knowledge())
    assert ordered[repot, feeding] == 28
    assert ordered[feeding, repot] == 14  # of config/feeding.toml: two weeks before repotting
    weak = replace(spacing, state=replace(spacing.state, aim="recovery"))
    assert (
        kept_apart(found, {TREE: weak}, knowledge())[repot, feeding] == 42
    )  # of config/feeding.toml: six weeks


def test_what_is_dissolved_alone_waits_longer_where_only_it_would_harm() -> None:
    """The rule of all species that binds what is dissolved says nothing of a job that may be pellets (invented: a year)."""
    known = knowledge()
    rules = [rule.model_copy(update={"weeks": 52} if rule.dissolved else {}) for rule in known.feeding.after]
    assert any(rule.dissolved for rule in rules)
    spacing = replace(
        still(rules_of({})), profile=known.profiles["acer-palmatum"], operations=known.operations
    )
    longer = known.model_copy(update={"feeding": known.feeding.model_copy(update={"after": tuple(rules)})})
    found = tasks(["repot", "feeding"])
    assert set(kept_apart(found, {TREE: spacing}, longer).values()) == {28, 14}


def test_cakes_are_not_changed_days_before_they_go_with_the_old_soil() -> None:
    found = tasks(["repot", "feeding cakes"])
    look = next(task for task in found if task.group.items[0].operation == "feeding cakes")
    rule = next(name for name, form in knowledge().aftercare.items() if "feeding cakes" in form.after)
    follows = Follows(rule, UUID(int=3), None)
    (item,) = look.group.items
    look = replace(
        look,
        group=replace(
            look.group, items=(replace(item, operation="look", label="Change the cakes", follows=follows),)
        ),
    )
    repot = next(task for task in found if task.group.items[0].operation == "repot")
    spacing = replace(still(rules_of({})), operations=knowledge().operations)
    ordered = kept_apart([look, repot], {TREE: spacing}, knowledge())
    assert ordered[look.job.id, repot.job.id] == 14


def test_fertilizing_ends_before_a_tree_waits_for_planned_work_and_goes_on_after_it() -> None:
    """A decandling that opens on the tenth day, with five weeks' pause after it (Boon, June 2010)."""
    cut = DAY + timedelta(days=10)
    hold = FeedingHold(Reason("work_ahead"), cut + timedelta(weeks=5))
    task = tasks(["feeding"])[0]

    def fed(first: int, last: int) -> list[tuple[int, int]]:
        job = replace(task.job, first=DAY + timedelta(days=first), last=DAY + timedelta(days=last))
        found = fed_in_time([replace(task, job=job)], {TREE: [(cut, hold)]}, knowledge().operations)
        return [((one.job.first - DAY).days, (one.job.last - DAY).days) for one in found]

    assert fed(0, 6) == [(0, 6)]
    assert fed(5, 12) == [(5, 9)]
    assert fed(10, 16) == []
    assert fed(44, 50) == []
    assert fed(45, 50) == [(45, 50)]
    other = tasks(["wire"])
    assert fed_in_time(other, {TREE: [(DAY, hold)]}, knowledge().operations) == other
