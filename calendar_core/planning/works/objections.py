"""Whether it is the time for work: what the plan says against it on a day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.items import PUBLISH_FROM, Item

if TYPE_CHECKING:
    from datetime import date
    from uuid import UUID

    from calendar_core.planning.items import NotPlanned, Plan, Reason

PAST = {"over", "too_late"}  # said of a window that has gone by: the next tells more


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
    why = [one for one in now if not {reason.code for reason in one.reasons} <= PAST]
    if why and not (likely and likely[0].cycle < first):
        return tuple(why)
    return tuple(known[:1] or now[:1])


def too_late(plan: Plan, tree: UUID, operation: str) -> tuple[Reason, ...]:
    """Return what is lost with work whose windows of this cycle have all closed; nothing while one is still to come."""
    every: tuple[Item | NotPlanned, ...] = (*plan.items, *plan.not_planned)
    known = [one for one in every if (one.tree_id, one.operation) == (tree, operation)]
    lost = {(one.cycle, reason) for one in known for reason in one.reasons if reason.code == "too_late"}
    ahead = {
        one.cycle
        for one in known
        if isinstance(one, Item)
        and one.chance >= PUBLISH_FROM
        and all(reason.code != "too_late" for reason in one.reasons)
    }
    return tuple({reason.note: reason for cycle, reason in lost if cycle not in ahead}.values())
