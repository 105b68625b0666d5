"""Whether it is the time for work: what the plan says against it on a day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.groups import PUBLISH_FROM

if TYPE_CHECKING:
    from datetime import date
    from uuid import UUID

    from calendar_core.planning.items import Item, NotPlanned, Plan

PAST = {"over"}  # said of a window that has gone by: the next tells more


def untimely(plan: Plan, tree: UUID, operation: str, on: date) -> tuple[Item | NotPlanned, ...]:
    """Return what speaks against an operation on a tree: why it is not planned, or its next window; nothing in a window.

    ``on`` is the day of the plan or a later one. Nothing is said of an operation that the plan knows no window of.
    """
    known = [
        item for item in plan.items if (item.tree_id, item.operation) == (tree, operation) and not item.label
    ]
    known.sort(key=lambda item: (item.chance < PUBLISH_FROM, item.opens.likely))
    likely = [item for item in known if item.chance >= PUBLISH_FROM]
    if any(item.opens.early <= on <= item.closes.late for item in likely):
        return ()
    absent = [one for one in plan.not_planned if (one.tree_id, one.operation) == (tree, operation)]
    first = min((one.cycle for one in absent), default=0)
    now = [one for one in absent if one.cycle == first]
    why = [one for one in now if {reason.code for reason in one.reasons} != PAST]
    if why and not (likely and likely[0].cycle < first):
        return tuple(why)
    return tuple(known[:1] or now[:1])
