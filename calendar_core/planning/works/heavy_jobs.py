"""Items that stand in each other's way: one heavy job a year, and what an earlier item makes needless."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.garden.state import asked_for_anyway
from calendar_core.knowledge.forms.operations import HEAVY
from calendar_core.planning.items import Item, NotPlanned, Range, Reason

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.profiles.knowledge import Knowledge

SURE_ENOUGH = 0.5  # a window less likely than this takes nobody's place

SAME_DAYS = 30  # estimate: by so little later than the season's work a look, which names its part, still stands for it

Kept = tuple[list[Item], list[NotPlanned]]


def settle(
    items: Sequence[Item], years: Mapping[UUID, int], knowledge: Knowledge, states: Mapping[UUID, TreeState]
) -> Kept:
    """Return the items to plan and those that others make needless or push out, cycle by cycle.

    ``years`` tells by item how many cycles pass from one time to the next; items not named come every cycle.
    """
    out: list[Item] = []
    dropped: list[NotPlanned] = []
    planned: dict[tuple[UUID, str], Item] = {}
    for cycle in sorted({item.cycle for item in items}):
        wanted = []
        for item in (item for item in items if item.cycle == cycle):
            earlier = None if item.part_id else planned.get((item.tree_id, item.operation))
            if earlier is not None and _needless(item, earlier, years, states[item.tree_id]):
                reason = Reason("planned_before", subject=earlier.operation, found=earlier.opens.likely)
                dropped.append(_not_planned(item, reason))
            else:
                wanted.append(item)
        kept, crowded = one_heavy_job(wanted, knowledge, states)
        out += kept
        dropped += crowded
        sure = [item for item in kept if _of_the_tree(item)]
        planned |= {(item.tree_id, item.operation): item for item in sure}
    twice = _same_work(out, knowledge)
    dropped += [_not_planned(item, reason) for item, reason in twice.values()]
    return [item for item in out if item.id not in twice], dropped


def in_turn(items: Sequence[Item], today: date) -> Kept:
    """Return works of a tree that follow one another: where one never closes, it ends as that of the next cycle opens."""
    following = {
        (item.tree_id, item.rule, item.part_id, item.cycle - 1): item
        for item in items
        if not item.follows and item.status != "possible" and item.chance >= SURE_ENOUGH
    }
    out: list[Item] = []
    over: list[NotPlanned] = []
    for item in items:
        after = None if item.follows else following.get((item.tree_id, item.rule, item.part_id, item.cycle))
        if after is None or after.opens.likely > item.closes.likely:
            out.append(item)
            continue
        last = after.opens.likely - timedelta(days=1)
        if last < max(today, item.opens.likely):
            over.append(_not_planned(item, Reason("over")))
        else:
            closes = Range(
                *(min(day, last) for day in (item.closes.early, item.closes.likely, item.closes.late))
            )
            out.append(replace(item, closes=closes))
    return out, over


def _same_work(items: Sequence[Item], knowledge: Knowledge) -> dict[UUID, tuple[Item, Reason]]:
    """Return, by id, what is left out of a work and the looks that are the same work: the first to come stands."""
    works: dict[tuple[UUID, str], Item] = {}
    for item in sorted(items, key=lambda item: item.opens.likely):
        if _of_the_tree(item) and item.follows is None:
            works.setdefault((item.tree_id, item.operation), item)
    out: dict[UUID, tuple[Item, Reason]] = {}
    earlier: dict[UUID, tuple[Item, Reason]] = {}
    served = set()
    for look in (item for item in items if item.follows is not None):
        operation = knowledge.aftercare[look.follows.rule].does if look.follows else None
        work = works.get((look.tree_id, operation)) if operation else None
        if work is not None and look.opens.likely > work.opens.likely + timedelta(days=SAME_DAYS):
            out[look.id] = (look, Reason("planned_before", subject=work.operation, found=work.opens.likely))
            served.add(work.id)
        elif work is not None:
            earlier[work.id] = (
                work,
                Reason("planned_before", subject=work.operation, found=look.opens.likely),
            )
    return out | {work: left_out for work, left_out in earlier.items() if work not in served}


def _of_the_tree(item: Item) -> bool:
    """Tell whether an item is sure enough, and of the whole tree: what a part gets takes nothing's place."""
    return item.status != "possible" and item.chance >= SURE_ENOUGH and item.part_id is None


def _needless(item: Item, earlier: Item, years: Mapping[UUID, int], state: TreeState) -> bool:
    """Tell whether the earlier item will have done for this one; a wish for this very cycle stands."""
    if item.status == "wished":
        named = any(w.cycle == item.cycle for w in state.wishes if w.operation == item.operation)
        return not named and earlier.status == "wished"
    return item.cycle - earlier.cycle < years.get(item.id, 0)


def _not_planned(item: Item, reason: Reason) -> NotPlanned:
    return NotPlanned(item.tree_id, item.operation, item.rule, item.cycle, (reason,))


def one_heavy_job(
    items: Sequence[Item],
    knowledge: Knowledge,
    states: Mapping[UUID, TreeState],
    likely_from: float = SURE_ENOUGH,
) -> Kept:
    """Keep at most one heavy job per tree and cycle among what is due or wished, and as likely as that.

    A wish goes before what is due by interval, that before a yearly programme; a wish made "anyway" takes
    no part and stands beside the one kept. What was decided of a part is this year's job of its operation.
    """
    heavy: dict[tuple[UUID, int], list[Item]] = {}
    out = []
    for item in items:
        weight = knowledge.operations[item.operation].weight
        rival = weight >= HEAVY and item.status in ("due", "wished") and item.chance >= likely_from
        if rival and not asked_for_anyway(item.operation, states[item.tree_id], item.cycle):
            heavy.setdefault((item.tree_id, item.cycle), []).append(item)
        else:
            out.append(item)
    crowded = []
    for rivals in heavy.values():
        first, *rest = sorted(rivals, key=lambda i: _rank(i, knowledge))
        out.append(first)
        for item in rest:
            if item.operation == first.operation and first.part_id and item.status == "due":
                reason = Reason("planned_before", subject=first.operation, found=first.opens.likely)
                crowded.append(_not_planned(item, reason))
            elif item.operation == first.operation:
                out.append(item)
            else:
                reason = Reason("one_heavy_job", subject=first.operation, found=first.opens.likely)
                crowded.append(_not_planned(item, reason))
    return out, crowded


def _rank(item: Item, knowledge: Knowledge) -> tuple[int, int, date]:
    claim = 0 if item.status == "wished" else 1 if item.reasons and item.reasons[0].code == "interval" else 2
    return claim, -knowledge.operations[item.operation].weight, item.opens.likely
