"""Looking ahead: work counted back from a show."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from calendar_core.knowledge.forms.show import ShowStep
    from calendar_core.planning.items import Item


@dataclass(frozen=True, slots=True)
class Countdown:
    """One step before a show: on its day ``open`` tells whether the plan has the work's window open, None if it has none."""

    operation: str
    day: date
    how: str
    open: bool | None


def countdown(
    show: date, steps: Mapping[str, ShowStep], items: Sequence[Item], today: date
) -> list[Countdown]:
    """Return the steps before a show that lie ahead, in order, given the items of the tree."""
    out = []
    for operation, step in steps.items():
        day = show - timedelta(days=step.days)
        windows = [i for i in items if i.operation == operation and i.follows is None]
        is_open = any(i.opens.likely <= day <= i.closes.likely for i in windows) if windows else None
        if day >= today:
            out.append(Countdown(operation, day, step.how, is_open))
    return sorted(out, key=lambda ahead: ahead.day)
