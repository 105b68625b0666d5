"""Groups: trees that share one calendar event because the same work opens for them at about the same time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from statistics import median_low
from typing import TYPE_CHECKING

from calendar_core.planning.due import WAITS, wait_end
from calendar_core.planning.items import OF_PART, item_id
from calendar_core.planning.rivals import one_heavy_job

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date
    from uuid import UUID

    from calendar_core.garden.state import TreeState
    from calendar_core.planning.items import Item
    from calendar_core.species.schema import Knowledge

DRIFT_DAYS = 10  # a tree whose opening or safe day lies further from its group's gets an event of its own
PUBLISH_FROM = 0.5  # a window less likely than this is not published
KEEP_FROM = (
    0.35  # one that was published stays down to this, or a chance about a half would come and go daily
)
SHORTEST_DAYS = 7  # an event is at least as long, or as its window is

Member = tuple[str, int, "UUID"]  # rule, cycle, tree


@dataclass(frozen=True, slots=True)
class EventGroup:
    """Items that share an event; ``end`` is the last day: safe in nine years of ten, if that is not before it opens."""

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
    since drifted out of a shared one.
    """
    shared: dict[tuple[str, int], list[Item]] = {}
    for item in items:
        shared.setdefault((key_of(item), item.cycle), []).append(item)
    events: dict[UUID, list[Item]] = {}
    keys: dict[UUID, tuple[str, int]] = {}
    for (key, cycle), together in shared.items():
        common = item_id(garden_id, "group", key, cycle)
        middle = (
            median_low([i.opens.likely for i in together]),
            median_low([i.closes.early for i in together]),
        )
        for item in together:
            uid = known.get((item.rule, cycle, item.tree_id), common)
            if uid == common and _drifts(item, *middle):
                uid = item.id
            events.setdefault(uid, []).append(item)
            keys.setdefault(uid, (key, cycle))
    return tuple(_event(uid, *keys[uid], members) for uid, members in sorted(events.items()))


def _drifts(item: Item, opens: date, safe: date) -> bool:
    """Tell whether an item opens, or is safe until, days before or after the middle of those it could share an event with."""
    far = max(abs((item.opens.likely - opens).days), abs((item.closes.early - safe).days))
    return far > DRIFT_DAYS


def members(groups: Iterable[EventGroup]) -> dict[Member, UUID]:
    """Return which event every tree's item is in."""
    return {(item.rule, item.cycle, item.tree_id): group.uid for group in groups for item in group.items}


def waits_for_it(group: EventGroup) -> bool:
    """Tell whether an event begins when it does for work the grower did or an answer: not for the weather."""
    first = [item for item in group.items if item.opens.likely == group.start]
    return any(wait_end(r) == group.start for item in first for r in item.reasons if r.code in WAITS)


def waits_until(group: EventGroup, today: date) -> date | None:
    """Return until when an event stands at least that is late, or protects a tree and is open; None for others."""
    waiting = [item for item in group.items if _waits(item, today)]
    return max((item.closes.early for item in waiting), default=None)


def _waits(item: Item, today: date) -> bool:
    late = {"overdue", "concern"} & {reason.code for reason in item.reasons}
    return bool(late) or (item.protects and item.opens.likely <= today)


def _event(uid: UUID, key: str, cycle: int, items: list[Item]) -> EventGroup:
    start = median_low([i.opens.likely for i in items])
    length = min(SHORTEST_DAYS, *((i.closes.likely - i.opens.likely).days + 1 for i in items))
    # Where both are uncertain, the day that is safe in nine years of ten may come before the likely opening.
    end = max(min(i.closes.early for i in items), start + timedelta(days=max(length - 1, 0)))
    return EventGroup(uid, key, cycle, start, end, tuple(items))
