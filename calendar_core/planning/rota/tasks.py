"""Tasks: the events of a plan as jobs that fit into days, each with its trees, minutes and what missing it costs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from math import ceil
from typing import TYPE_CHECKING

from calendar_core.planning.items import DECIDED
from calendar_core.planning.rota.problem import Job
from calendar_core.planning.rota.told_days import NOTHING_TOLD
from calendar_core.planning.waits import late_since

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    import numpy as np
    from numpy.typing import NDArray

    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.operations import Operation
    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.items import Item
    from calendar_core.planning.rota.told_days import ToldDays

SIZE = {"small": 0.7, "medium": 1.0, "large": 1.6}
"""Minutes for a tree of a size class in those for a medium one (estimate: the time goes with the twigs and the pot,
which differ more than this between sizes, and with getting tools out, which does not differ)."""

CLAIM = {"season": 2, "wished": 2, "decided": 2, "interval": 2}
"""By why work is planned, how much a week's wait for it counts; for others 1 (estimate: what was asked for, or has
waited for years goes before the yearly programme)."""
PROTECTS, SAVES = 10, 100
"""The same of a move without which a tree is in danger, and where that has begun (estimate: before anything else)."""

YEAR_WEEKS = 52
LOOK_WEEKS = 4
"""So many weeks a look counts that is not made: it stays due, and work whose window ends goes before it (estimate)."""
WEEK = timedelta(weeks=1)


@dataclass(frozen=True, slots=True)
class Task:
    """A job with the work it stands for: all trees of an event, or as many as one sitting takes."""

    job: Job
    group: EventGroup
    items: tuple[Item, ...]
    round: int  # 0 for the first time of work that comes again within its window
    sitting: int  # which portion of the event's trees it is
    since: date | None  # when it became late
    overdue: bool  # its safe day has passed; it is done as long as its window may still be open

    @property
    def trees(self) -> tuple[UUID, ...]:
        """Its trees, one for each item."""
        return tuple(item.tree_id for item in self.items)

    @property
    def protects(self) -> bool:
        """Tell whether a tree is in danger until it is done."""
        return any(item.protects for item in self.items)

    @property
    def safe(self) -> date:
        """Its last safe day, however often it comes again until then."""
        return self.group.end


def tasks_of(
    groups: Sequence[EventGroup],
    states: Mapping[UUID, TreeState],
    operations: Mapping[str, Operation],
    today: date,
    free: NDArray[np.int64],
    told: ToldDays = NOTHING_TOLD,
) -> tuple[Task, ...]:
    """Return the tasks that could be done on the days from ``today`` on with ``free`` minutes (n_days,).

    Trees that were told for one day are done in one sitting, on that day if it still serves.
    """
    end = today + timedelta(days=len(free) - 1)
    out = []
    for group in groups:
        operation = operations[group.items[0].operation]
        if group.items[0].once:
            operation = operation.model_copy(update={"again_weeks": None})
        for number, (first, last) in enumerate(_rounds(group, operation, today, end, told)):
            days = free[(first - today).days : (last - today).days + 1].tolist()
            sittings = _told_sittings(group.items, states, operation, days, first, told)
            for part, (items, on) in enumerate(sittings):
                job = Job(
                    f"{group.uid} {group.start} {number} {part}",  # an event may be two lines of a day
                    _together(items, states, operation),
                    first,
                    last,
                    _value(items, operation),
                    _again(group, operation, first, last),
                    on,
                    told.anew(items, first, group.end),
                )
                out.append(Task(job, group, tuple(items), number, part, late_since(items), group.end < today))
    return tuple(_at_once(out, today, free))


def _at_once(tasks: Sequence[Task], today: date, free: NDArray[np.int64]) -> list[Task]:
    """Return tasks with those that save a tree on the first day with time for it, what is late the longest first.

    Where that comes after its last day it is late, and still to be done: no such move is left out.
    """
    room, out = free.tolist(), list(tasks)
    saving = [
        place
        for place, task in enumerate(out)
        if task.protects and (task.since is not None or task.job.last <= today + WEEK)
    ]
    for place in sorted(
        saving, key=lambda place: (out[place].since or out[place].job.last, out[place].job.id)
    ):
        job = out[place].job
        begin = (job.first - today).days
        day = next((day for day in range(begin, len(room)) if room[day] >= job.minutes), None)
        if day is not None:
            room[day] -= job.minutes
            at = today + timedelta(days=day)
            out[place] = replace(out[place], job=replace(job, first=at, last=at, told=None, anew=None))
    return out


def _rounds(
    group: EventGroup, operation: Operation, today: date, end: date, told: ToldDays
) -> Iterator[tuple[date, date]]:
    """Yield first and last day of each time the work is to be done, as far as it begins by ``end``.

    The time after one that was told for a day is counted from that day. Work that comes again has the first half of its weeks, or one week, lest two times fall on neighbouring days; of it
    no later time lies after the likely close: its season is over then, more likely than not.
    """
    # The calendar's event begins with the first of its trees; on one day all can be done from the last one's opening.
    first, last = max(today, *(item.opens.likely for item in group.items)), _last_day(group, today)
    if operation.again_weeks is None:
        if first <= end:
            yield first, max(first, last)
        return
    last = max(first, min(last, *(item.closes.likely for item in group.items)))
    step = timedelta(weeks=operation.again_weeks)
    turn = max(step / 2, WEEK) - timedelta(days=1)
    while first <= min(last, end):
        within = min(first + step - timedelta(days=1), last)
        on = min(filter(None, (told.day_of(item, first, within) for item in group.items)), default=None)
        yield first, min(max(first + turn, on or first), last)
        first = (on or first) + step


def _last_day(group: EventGroup, today: date) -> date:
    """Return the last safe day; where it has passed, the last on which the window may still be open."""
    if group.end >= today:
        return group.end
    return max(today, min(item.closes.late for item in group.items))


def _told_sittings(
    items: Sequence[Item],
    states: Mapping[UUID, TreeState],
    operation: Operation,
    days: Sequence[int],
    first: date,
    told: ToldDays,
) -> Iterator[tuple[list[Item], date | None]]:
    """Yield the trees in portions, with the day for which those of one were told; ``days`` are the minutes from ``first`` on."""
    last = first + timedelta(days=len(days) - 1)
    by_day: dict[date, list[Item]] = {}
    for item in items:
        if (on := told.day_of(item, first, last)) is not None:
            by_day.setdefault(on, []).append(item)
    fits = {
        on: some
        for on, some in by_day.items()
        if _together(some, states, operation) <= days[(on - first).days]
    }
    for on in sorted(fits):
        yield fits[on], on
    told_already = {item.id for some in fits.values() for item in some}
    rest = [item for item in items if item.id not in told_already]
    if rest:
        yield from ((portion, None) for portion in _sittings(rest, states, operation, days))


def _sittings(
    items: Sequence[Item], states: Mapping[UUID, TreeState], operation: Operation, days: Sequence[int]
) -> Iterator[list[Item]]:
    """Yield the trees in portions for the shortest free time that holds any one of them, in the garden's order."""
    place = {tree: i for i, tree in enumerate(states)}
    longest = max(_minutes(item, states, operation) for item in items)
    most = min((day for day in days if day >= longest), default=max(days, default=0))
    portion: list[Item] = []
    for item in sorted(items, key=lambda item: place[item.tree_id]):
        if portion and _together([*portion, item], states, operation) > most:
            yield portion
            portion = []
        portion.append(item)
    yield portion


def _together(items: Sequence[Item], states: Mapping[UUID, TreeState], operation: Operation) -> int:
    """Return the whole minutes of trees together, the same in whatever order their tenths are added up."""
    return ceil(round(sum(_minutes(item, states, operation) for item in items), 6))


def _minutes(item: Item, states: Mapping[UUID, TreeState], operation: Operation) -> float:
    return operation.minutes * SIZE[states[item.tree_id].size]


def _value(items: Sequence[Item], operation: Operation) -> int:
    """Return what missing the work costs: weeks until it comes again, for every tree by its chance and claim."""
    weeks = LOOK_WEEKS if items[0].label else operation.again_weeks or YEAR_WEEKS
    trees = sum(item.chance * _weight(item) for item in items)
    return max(1, round(weeks * trees))


def _weight(item: Item) -> int:
    if item.protects:
        return PROTECTS if late_since([item]) is None else SAVES
    return CLAIM.get(_claim(item), 1)


def _claim(item: Item) -> str:
    return item.reasons[0].code if item.reasons else ""


def _again(group: EventGroup, operation: Operation, first: date, last: date) -> date | None:
    """Return from when work left out now can be done again: later in its window, or next year.

    A look that follows something, or work that is due without a season, has no next time: it stays due until it is answered.
    """
    first_item = group.items[0]
    if first_item.follows is not None or (first_item.label and first_item.rule.startswith(DECIDED)):
        return None
    if operation.again_weeks is not None:
        soon = first + timedelta(weeks=operation.again_weeks)
        if soon <= max(last, group.end):
            return soon
    return group.start + timedelta(weeks=YEAR_WEEKS)
