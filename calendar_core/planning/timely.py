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
    windows = [
        item
        for item in plan.items
        if (item.tree_id, item.operation) == (tree, operation)
        and not item.label
        and item.chance >= PUBLISH_FROM
    ]
    if any(item.opens.early <= on <= item.closes.late for item in windows):
        return ()
    absent = [one for one in plan.not_planned if (one.tree_id, one.operation) == (tree, operation)]
    first = min((one.cycle for one in absent), default=0)
    why = [one for one in absent if one.cycle == first and {reason.code for reason in one.reasons} != PAST]
    return tuple(why or sorted(windows, key=lambda item: item.opens.likely)[:1])
