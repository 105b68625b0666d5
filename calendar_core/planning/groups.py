"""Groups: trees that share one calendar event because the same work opens for them at about the same time."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import timedelta
from itertools import count
from statistics import median_low
from typing import TYPE_CHECKING
from uuid import uuid5

from calendar_core.planning.items import OF_PART, PUBLISH_FROM, item_id
from calendar_core.planning.waits import WAITS, wait_end
from calendar_core.planning.works.heavy_jobs import one_heavy_job

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.items import Item

DRIFT_DAYS = 10  # a tree whose opening or safe day lies further from its group's leaves the event
KEEP_FROM = (
    0.35  # one that was published stays down to this, or a chance about a half would come and go daily
)
SHORTEST_DAYS = 7  # for each of its trees an event lasts as long from its opening, or as its window is

Member = tuple[str, int, "UUID"]  # rule, cycle, tree


@dataclass(frozen=True, slots=True)
class EventGroup:
    """Items that share an event: ``start`` is the likely opening of the first tree, ``end`` the first last day of one.

    That is safe in nine years of ten, if it leaves a week.
    """

    uid: UUID
    key: str
    cycle: int
    start: date
    end: date
    items: tuple[Item, ...]


def key_of(item: Item) -> str:
    """Return what items of one cycle must have in common to share an event."""
    return f"{item.rule.partition(OF_PART)[0]}|{'' if item.shared else item.species}"


def published_items(
    items: Iterable[Item],
    known: Mapping[Member, UUID],
    knowledge: Knowledge,
    states: Mapping[UUID, TreeState],
) -> list[Item]:
    """Return the items that subscribers are told of: due or wished, and likely enough.

    One that is in ``known`` was told of before, and is taken back only when it has become unlikely; until then no
    other heavy job takes its place.
    """
    likely = [item for item in items if item.status != "possible" and item.chance >= _line(item, known)]
    return one_heavy_job(likely, knowledge, states, KEEP_FROM)[0]


def _line(item: Item, known: Mapping[Member, UUID]) -> float:
    return KEEP_FROM if (item.rule, item.cycle, item.tree_id) in known else PUBLISH_FROM


def group_items(
    garden_id: UUID, items: Iterable[Item], known: Mapping[Member, UUID]
) -> tuple[EventGroup, ...]:
    """Return items as events: those of one rule and species share one (what an aim changes is a rule of its own).

    ``known`` holds the event each (rule, cycle, tree) was published in; it keeps that event unless the tree has
    since drifted out of a shared one, or would find it over in its own time. Trees that wait, for work that was done
    or an answer, share an event with those that wait for the same day alone: it is not yet the time for them when it
    is for others.
    """
    shared: dict[tuple[str, int], list[Item]] = {}
    for item in items:
        shared.setdefault((key_of(item), item.cycle), []).append(item)
    groups: list[EventGroup] = []
    for (key, cycle), together in shared.items():
        common = item_id(garden_id, "group", key, cycle)
        waiting = _by_wait(together)
        events = _open_events(waiting.pop(None, []), known, common)
        for alike in waiting.values():
            _add_waiting(events, alike, known, common)
        groups += [_event(uid, key, cycle, items) for uid, items in events.items()]
    return tuple(sorted(groups, key=lambda group: group.uid))


def lines_of(groups: Iterable[EventGroup], today: date) -> tuple[EventGroup, ...]:
    """Return events as the lines of a day: trees for which it is time already apart from those for which it is not.

    An event of the calendar keeps both, for trees come and go in it; what is read today must be true of all it names.
    """
    lines = []
    for group in groups:
        open_now = [item for item in group.items if item.opens.likely <= today]
        coming = [item for item in group.items if item.opens.likely > today]
        if open_now and coming:
            lines += [_event(group.uid, group.key, group.cycle, some) for some in (open_now, coming)]
        else:
            lines.append(group)
    return tuple(lines)


def _by_wait(items: Iterable[Item]) -> dict[date | None, list[Item]]:
    """Return items by the day they wait for, those that wait for none under None; of days that of most comes first."""
    waiting: dict[date | None, list[Item]] = {}
    for item in items:
        waiting.setdefault(waits_until(item), []).append(item)
    return dict(sorted(waiting.items(), key=lambda pair: (-len(pair[1]), str(pair[0]))))


def waits_until(item: Item) -> date | None:
    """Return when an item opens if work that was done or an answer sets that; None if stages or weather do."""
    opens = item.opens.likely
    return opens if any(r.code in WAITS and wait_end(r) == opens for r in item.reasons) else None


def _open_events(items: Sequence[Item], known: Mapping[Member, UUID], common: UUID) -> dict[UUID, list[Item]]:
    """Return the events of items that weather opens; who has left one shares another with those of its time alone."""
    told: dict[UUID, list[Item]] = {}
    for item in items:
        told.setdefault(known.get((item.rule, item.cycle, item.tree_id), common), []).append(item)
    events, left = {}, []
    for uid, some in told.items():
        events[uid], *others = _by_time(some)
        left += others
    for some in sorted(left, key=lambda some: min(item.id for item in some)):
        events[_free(events, some, known, common)] = some
    return events


def _add_waiting(
    events: dict[UUID, list[Item]], alike: Sequence[Item], known: Mapping[Member, UUID], common: UUID
) -> None:
    """Add the events of items that wait for one day: that in which most of them were told, unless others have it."""
    for some in _by_time(alike):
        events[_free(events, some, known, common)] = some


def _free(
    events: Mapping[UUID, Sequence[Item]], items: Sequence[Item], known: Mapping[Member, UUID], common: UUID
) -> UUID:
    """Return the event of items: that in which most of them were told, unless others have it."""
    told = Counter(known.get((item.rule, item.cycle, item.tree_id), common) for item in items)
    return next(uid for uid in _names(told, common, items) if uid not in events)


def _names(told: Counter[UUID], common: UUID, items: Sequence[Item]) -> Iterator[UUID]:
    own = sorted(item.id for item in items)
    yield from sorted(told, key=lambda uid: (-told[uid], uid))
    yield common
    yield from own
    yield from (uuid5(own[0], str(number)) for number in count())  # others were named after all of them


def _by_time(items: Sequence[Item]) -> list[list[Item]]:
    """Return items in sets that can share an event, that about their middle first.

    An event that would be over before it has lasted for a tree as long as it should tells nothing of that tree.
    """
    sets, rest = [], list(items)
    while rest:
        near = _about_the_middle(rest) or [min(rest, key=lambda item: (last_day_of(item), item.id))]
        end = min(map(last_day_of, near))
        fit = {item.id: item for item in near if _least_day(item) <= end}
        sets.append(list(fit.values()))
        rest = [item for item in rest if item.id not in fit]
    return sets


def _about_the_middle(items: Sequence[Item]) -> list[Item]:
    """Return the items that neither open, nor are safe until, many days before or after the middle of all."""
    opens = median_low([item.opens.likely for item in items])
    safe = median_low([item.closes.early for item in items])
    far = timedelta(days=DRIFT_DAYS)
    return [i for i in items if abs(i.opens.likely - opens) <= far and abs(i.closes.early - safe) <= far]


def _least_day(item: Item) -> date:
    """Return until when an event lasts for a tree at least: a week from its opening, or as long as its window."""
    length = min(SHORTEST_DAYS, (item.closes.likely - item.opens.likely).days + 1)
    return item.opens.likely + timedelta(days=max(length - 1, 0))


def last_day_of(item: Item) -> date:
    """Return the last day of the event of a tree that has one of its own.

    Where both are uncertain, the day that is safe in nine years of ten may come before the likely opening.
    """
    return max(item.closes.early, _least_day(item))


def members(groups: Iterable[EventGroup]) -> dict[Member, UUID]:
    """Return which event every tree's item is in."""
    return {(item.rule, item.cycle, item.tree_id): group.uid for group in groups for item in group.items}


def waits_for_it(group: EventGroup) -> bool:
    """Tell whether an event begins when it does for work the grower did or an answer: not for the weather."""
    return any(waits_until(item) == group.start for item in group.items)


def stands_until(group: EventGroup, today: date) -> date | None:
    """Return until when an event stands at least that is late, or protects a tree and is open; None for others."""
    waiting = [item for item in group.items if _waits(item, today)]
    return max((item.closes.early for item in waiting), default=None)


def _waits(item: Item, today: date) -> bool:
    late = {"overdue", "concern"} & {reason.code for reason in item.reasons}
    return bool(late) or (item.protects and item.opens.likely <= today)


def _event(uid: UUID, key: str, cycle: int, items: list[Item]) -> EventGroup:
    start = min(item.opens.likely for item in items)
    return EventGroup(uid, key, cycle, start, min(map(last_day_of, items)), tuple(items))
