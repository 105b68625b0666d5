"""What trees bear: work that is due waits until earlier work has been recovered from, and goes where it would be too much."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from calendar_core.planning.items import Item, NotPlanned, Range, Reason
from calendar_core.planning.load.spacing import LoadJob, Spacing

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date
    from uuid import UUID


def borne(
    items: Iterable[Item], spacings: Mapping[UUID, Spacing], today: date
) -> tuple[list[Item], list[NotPlanned]]:
    """Return items as trees bear them beside the work of their logs, and those that they do not bear.

    ``spacings`` are of the trees that bear something. What the grower asks for is left as it is: he is told beside it.
    """
    out: list[Item] = []
    dropped: list[NotPlanned] = []
    for item in items:
        spacing = spacings.get(item.tree_id)
        if spacing is None or item.status == "wished" or item.follows or not spacing.weight(item.operation):
            out.append(item)
            continue
        answer = _held_back(item, spacing, today)
        if isinstance(answer, Item):
            out.append(answer)
        else:
            dropped.append(NotPlanned(item.tree_id, item.operation, item.rule, item.cycle, (answer,)))
    return out, dropped


def _held_back(item: Item, spacing: Spacing, today: date) -> Item | Reason:
    """Return an item from the day on which its tree has recovered, or why it comes to nothing."""
    job = LoadJob(item.operation, max(item.opens.likely, today), spacing.weight(item.operation))
    over = spacing.over_budget(job, spacing.jobs)
    if over is not None:
        return over
    wait = max(
        (clash for other in spacing.jobs for clash in spacing.not_recovered(other, job) if clash.until),
        key=lambda clash: clash.until or today,
        default=None,
    )
    if wait is None or wait.until is None or wait.until <= job.on:
        return item
    if wait.until > item.closes.likely:
        return wait.reason
    opens = Range(*(max(day, wait.until) for day in (item.opens.early, item.opens.likely, item.opens.late)))
    return replace(item, opens=opens, reasons=(*item.reasons, wait.reason))
