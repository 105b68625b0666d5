"""Days with their work and what has no time; openings beyond them. Gardens are made up; the rules are the project's own."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING
from uuid import UUID

import numpy as np

from calendar_core.garden.state import TreeState
from calendar_core.planning.items import Follows
from calendar_core.planning.rota.openings import openings
from calendar_core.planning.rota.solver import level
from calendar_core.planning.rota.tasks import tasks_of
from calendar_core.planning.rota.work_days import WorkDay, work_days
from tests.planning.rota.test_tasks import OPERATIONS, TODAY, WEEK, event

if TYPE_CHECKING:
    from collections.abc import Collection

    from calendar_core.planning.groups import EventGroup

UNTIL = TODAY + timedelta(weeks=3)


def day(days: int) -> date:
    return TODAY + timedelta(days=days)


def told(
    *groups: EventGroup,
    free: list[int] | None = None,
    away: Collection[date] = (),
    spared: Collection[UUID] = (),
) -> tuple[WorkDay, ...]:
    """The work days of some events under a week's free time."""
    many = [
        replace(group, uid=UUID(int=50 + n), items=tuple(replace(item, id=UUID(int=1000 * n + k)) for k, item in enumerate(group.items)))
        for n, group in enumerate(groups)
    ]  # fmt: skip
    states = {UUID(int=place): TreeState() for place in range(20)}
    minutes = np.array((free or WEEK) * 4)
    tasks = tasks_of(many, states, OPERATIONS, TODAY, minutes)
    rota = level([task.job for task in tasks], TODAY, minutes)
    return work_days(rota, {task.job.id: task for task in tasks}, TODAY, UNTIL, away, spared)


def test_a_day_lists_what_closes_first_first() -> None:
    (saturday,) = told(event("repot", 1, 0, 20), event("wire", 1, 0, 8))
    assert saturday.day == day(5)
    assert [line.items[0].operation for line in saturday.lines] == ["wire", "repot"]
    assert (saturday.minutes, saturday.closes) == (105, False)


def test_work_without_time_is_told_on_its_last_safe_day() -> None:
    (last,) = told(event("repot", 1, 0, 3))  # no weekday has three quarters of an hour
    assert (last.day, last.lines) == (day(3), ())
    assert [line.items[0].operation for line in last.ends] == ["repot"]
    assert last.closes


def test_it_is_told_before_days_away() -> None:
    away = {day(place) for place in range(1, 12)}
    (last,) = told(event("repot", 1, 0, 8), free=[0] * 7, away=away)
    assert last.day == TODAY
    (gone,) = told(event("repot", 1, 0, 8), free=[0] * 7, away={TODAY, *away})
    assert gone.day == day(8)  # away on all of them: the day itself, and nothing is lost


def test_what_comes_again_in_time_is_not_told_as_lost() -> None:
    free = [0] * 12 + [120] * 9
    found = told(event("feeding", 1, 0, 40), free=free)
    assert not any(work.ends for work in found)


def test_what_is_told_elsewhere_stands_in_no_list() -> None:
    found = told(event("repot", 2, 0, 20), spared={UUID(int=0)})
    assert [item.tree_id.int for work in found for item in work.items] == [1]


def test_far_days_are_not_told_yet() -> None:
    assert told(event("repot", 1, 24, 27)) == ()
    assert told(event("repot", 1, 0, 60), free=[0] * 7) == ()


def test_heavy_work_moves_and_looks_are_told_before_their_day_and_other_work_is_not() -> None:
    heavy, light = event("repot", 1, 30, 50).items, event("cut back", 1, 30, 90).items
    move = (replace(event("shelter in", 1, 30, 40).items[0], protects=True),)
    look = event("look", 1, 30, 37).items[0]
    look = replace(look, label="Look at the wire", follows=Follows("wire", UUID(int=5), None))
    found = openings([*heavy, *light, *move, look], OPERATIONS, set(), TODAY)
    assert {opening.key for opening in found} == {"Look at the wire", "repot", "shelter in"}
    assert [opening.day for opening in found] == [day(30), day(30), day(31)]
    assert openings(heavy, OPERATIONS, {heavy[0].id}, TODAY) == ()
    assert openings(event("repot", 1, 43, 60).items, OPERATIONS, set(), TODAY) == ()
    assert openings(event("repot", 1, 0, 60).items, OPERATIONS, set(), TODAY) == ()


def test_species_that_open_within_ten_days_share_an_opening() -> None:
    several = [
        replace(event("repot", 1, opens, 60).items[0], id=UUID(int=opens), species=species)
        for opens, species in ((25, "a"), (33, "b"), (35, "c"), (36, "d"))
    ]
    found = openings(several, OPERATIONS, set(), TODAY)
    assert [[item.species for item in opening.items] for opening in found] == [["a", "b", "c"], ["d"]]
