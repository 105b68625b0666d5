"""Whether it is the time for work: what the plan says against it on a day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.items import OF_PART, PUBLISH_FROM, Item

if TYPE_CHECKING:
    from datetime import date
    from uuid import UUID

    from calendar_core.planning.items import NotPlanned, Plan, Reason

PAST = {"over", "too_late"}  # said of a window that has gone by: the next tells more


def untimely(plan: Plan, tree: UUID, operation: str, on: date) -> tuple[Item | NotPlanned, ...]:
    """Return what speaks against an operation on a tree: why it is not planned, or its next window; nothing in a window.

    ``on`` is the day of the plan or a later one. Nothing is said of an operation that the plan knows no window of.
    """
    items = [
        item for item in plan.items if (item.tree_id, item.operation) == (tree, operation) and not item.label
    ]
    items.sort(key=lambda item: (item.chance < PUBLISH_FROM, item.opens.likely))
    likely = [item for item in items if item.chance >= PUBLISH_FROM]
    if any(item.opens.early <= on <= item.closes.late for item in likely):
        return ()
    absent = [
        absence
        for absence in plan.not_planned
        if (absence.tree_id, absence.operation) == (tree, operation) and OF_PART not in absence.rule
    ]
    first = min((absence.cycle for absence in absent), default=0)
    now = [absence for absence in absent if absence.cycle == first]
    why = [absence for absence in now if not {reason.code for reason in absence.reasons} <= PAST]
    if why and not (likely and likely[0].cycle < first):
        return tuple(why)
    return tuple(items[:1] or now[:1])


def too_late(plan: Plan, tree: UUID, operation: str) -> tuple[Reason, ...]:
    """Return what is lost with work whose windows of this cycle have all closed; nothing while one is still to come."""
    every: tuple[Item | NotPlanned, ...] = (*plan.items, *plan.not_planned)
    of_work = [item for item in every if (item.tree_id, item.operation) == (tree, operation)]
    lost = {(item.cycle, reason) for item in of_work for reason in item.reasons if reason.code == "too_late"}
    ahead = {
        item.cycle
        for item in of_work
        if isinstance(item, Item)
        and item.chance >= PUBLISH_FROM
        and all(reason.code != "too_late" for reason in item.reasons)
    }
    return tuple({reason.note: reason for cycle, reason in lost if cycle not in ahead}.values())
