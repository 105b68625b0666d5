"""Tasks: events cut into jobs that fit a day, with minutes by size and the cost of missing them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any
from uuid import UUID

import numpy as np

from calendar_core.garden.state import TreeState
from calendar_core.planning.groups import EventGroup
from calendar_core.planning.items import Follows, Item, Range, Reason, item_id
from calendar_core.planning.rota.tasks import Task, tasks_of
from calendar_core.planning.rota.told_days import ToldDays
from tests.planning.made_up import knowledge

GARDEN = UUID(int=1)
TODAY = date(2015, 6, 22)  # a Monday
WEEK = [20, 20, 20, 20, 20, 120, 120]
OPERATIONS = knowledge().operations


def span(day: date) -> Range:
    return Range(day, day, day + timedelta(days=5))


def event(operation: str, trees: int, opens: int, closes: int, claim: str = "programme") -> EventGroup:
    """An event of trees 0, 1, ... whose window is given in days from TODAY."""
    first, last = (TODAY + timedelta(days=days) for days in (opens, closes))
    values: dict[str, Any] = {
        "species": "acer-palmatum",
        "operation": operation,
        "rule": operation,
        "cycle": 2015,
    }
    values |= {"aim": "structure", "opens": span(first), "closes": span(last), "chance": 1.0, "status": "due"}
    items = tuple(
        Item(id=item_id(GARDEN, UUID(int=i), operation, 2015), tree_id=UUID(int=i), how="", reasons=(Reason(claim),), **values)
        for i in range(trees)
    )  # fmt: skip
    return EventGroup(UUID(int=9), operation, 2015, first, last, items)


def tasks(group: EventGroup, weeks: int = 4, **sizes: Any) -> tuple[Task, ...]:
    states = {UUID(int=i): TreeState(size=sizes.get(f"tree_{i}", "medium")) for i in range(len(group.items))}
    return tasks_of([group], states, OPERATIONS, TODAY, np.array(WEEK * weeks))


def windows(found: tuple[Task, ...]) -> list[tuple[int, int]]:
    return [((t.job.first - TODAY).days, (t.job.last - TODAY).days) for t in found]


def test_minutes_go_by_size_and_are_rounded_up() -> None:
    (one,) = tasks(event("pest look", 3, 0, 6), tree_0="small", tree_2="large")
    assert one.job.minutes == 7  # 2 minutes x (0.7 + 1 + 1.6), in the free time of one weekday


def test_an_event_is_cut_where_a_days_time_ends_and_no_tree_is_cut() -> None:
    found = tasks(event("repot", 5, 0, 13))  # 45 minutes a tree: only Saturday and Sunday hold one
    assert [len(task.trees) for task in found] == [2, 2, 1]
    assert [tree.int for task in found for tree in task.trees] == [0, 1, 2, 3, 4]
    (whole,) = tasks(event("wire", 1, 0, 3))  # an hour, and no day of the window has one
    assert whole.job.minutes == 60


def test_trees_told_for_a_day_that_they_fill_stay_on_it_in_whatever_order_they_are_read() -> None:
    """Four small, four medium, two large: 4 x 1.4 + 4 x 2 + 2 x 3.2 are 20 minutes, though not in binary fractions."""
    sizes: Any = [
        "small",
        "medium",
        "small",
        "medium",
        "large",
        "small",
        "medium",
        "medium",
        "large",
        "small",
    ]
    group = event("pest look", len(sizes), 0, 6)
    states = {UUID(int=i): TreeState(size=size) for i, size in enumerate(sizes)}
    told = ToldDays({item.id: [TODAY] for item in group.items})
    for first in range(len(sizes)):
        items = (*group.items[first:], *group.items[:first])
        for some in (items, items[::-1]):
            read = replace(group, items=some)
            (whole,) = tasks_of([read], states, OPERATIONS, TODAY, np.array(WEEK), told)
            assert (whole.job.minutes, whole.job.told) == (20, TODAY)


def test_work_that_comes_again_has_a_task_for_each_turn() -> None:
    found = tasks(event("feeding", 1, -10, 40), weeks=5)
    assert windows(found) == [(0, 6), (14, 20), (28, 34)]
    assert [task.round for task in found] == [0, 1, 2]
    assert windows(tasks(event("pinch", 1, 0, 10))) == [(0, 6), (7, 10)]


def test_work_that_is_done_once_is_asked_for_once_in_its_window() -> None:
    # Candles do not grow again after they were broken (B. Manakitivipart, May 2010), tips of other trees do.
    group = event("pinch", 1, 0, 20)
    once = replace(group, items=tuple(replace(item, once=True) for item in group.items))
    assert windows(tasks(once)) == [(0, 20)]
    assert len(tasks(group)) == 3


def test_missing_a_window_of_the_year_costs_more_than_a_look_that_can_slip() -> None:
    (repot,) = tasks(event("repot", 1, 0, 13, claim="interval"))
    look = tasks(event("pest look", 1, 0, 40, claim="season"))[0]
    leaves = tasks(event("take coloured leaves", 1, 0, 13))[0]
    assert (repot.job.value, leaves.job.value, look.job.value) == (104, 52, 4)
    assert repot.job.again == TODAY + timedelta(weeks=52)
    assert look.job.again == TODAY + timedelta(weeks=2)


def test_a_look_that_follows_something_has_no_next_time() -> None:
    group = event("look", 1, 0, 13)
    follows = Follows("look at the wire", UUID(int=7), None)
    (look,) = tasks(replace(group, items=tuple(replace(item, follows=follows) for item in group.items)))
    assert look.job.again is None


def test_what_begins_after_the_days_is_left_for_later() -> None:
    assert tasks(event("repot", 1, 28, 40)) == ()


def test_past_its_safe_day_work_is_overdue_until_its_window_is_surely_over() -> None:
    (late,) = tasks(event("repot", 1, -20, -3))
    assert late.overdue
    assert windows((late,)) == [(0, 2)]
    (gone,) = tasks(event("repot", 1, -40, -20))
    assert windows((gone,)) == [(0, 0)]


def late_move(since: int, tree: int, minutes_of: str = "shelter in") -> EventGroup:
    """A move of one tree that is late since so many days before TODAY."""
    day = TODAY - timedelta(days=since)
    group = event(minutes_of, tree + 1, -since - 14, 5)
    moved = replace(group.items[tree], protects=True, reasons=(Reason("cold"), Reason("overdue", found=day)))
    return replace(group, uid=UUID(int=100 + tree), items=(moved,))


def test_what_saves_a_tree_has_the_first_day_with_time_the_longest_late_first() -> None:
    """The order follows from what waiting costs: a tree stands in danger each day."""
    states = {UUID(int=i): TreeState(size="large") for i in range(6)}
    groups = [late_move(days, tree) for tree, days in enumerate([3, 40, 9, 20, 30, 12])]
    found = tasks_of(groups, states, OPERATIONS, TODAY, np.array(WEEK * 4))
    assert all(task.job.first == task.job.last for task in found)
    by_day = [task.trees[0].int for task in sorted(found, key=lambda task: (task.job.first, task.since))]
    assert by_day == [1, 4, 3, 5, 2, 0]
    assert found[1].job.first == TODAY
    more = event("repot", 1, -3, 3, "wished")
    assert (
        min(task.job.value for task in found)
        > tasks_of([more], states, OPERATIONS, TODAY, np.array(WEEK))[0].job.value
    )


def test_a_move_that_finds_no_time_until_its_last_day_has_the_first_after_it() -> None:
    """A tree that is not brought in today still has to be brought in tomorrow."""
    states = {UUID(int=i): TreeState() for i in range(3)}
    moves = [replace(event("shelter in", n + 1, -5, 0), uid=UUID(int=200 + n)) for n in range(3)]
    moves = [replace(one, items=(replace(one.items[n], protects=True),)) for n, one in enumerate(moves)]
    minutes = tasks_of(moves[:1], states, OPERATIONS, TODAY, np.array(WEEK))[0].job.minutes
    free = np.array([minutes, 0, 2 * minutes, 0])
    found = tasks_of(moves, states, OPERATIONS, TODAY, free)
    assert sorted((task.job.last - TODAY).days for task in found) == [0, 2, 2]


def test_two_lines_of_one_event_are_two_jobs() -> None:
    """An event whose trees are open in part is two lines of a day; neither hides the other."""
    now, coming = event("decandling", 1, -5, 0), event("decandling", 1, 4, 12)
    found = tasks_of([now, coming], {UUID(int=0): TreeState()}, OPERATIONS, TODAY, np.array(WEEK * 2))
    assert len({task.job.id for task in found}) == len(found) == 2
