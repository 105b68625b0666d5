"""The lines of the plan in the order a grower reads them: what is open now, and what opens."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.app.plan.line_names import due_groups
from calendar_core.planning.waits import late_since

if TYPE_CHECKING:
    from collections.abc import Iterable

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.groups import EventGroup


def planned_groups(session: Session, weeks: int) -> tuple[list[EventGroup], list[EventGroup]]:
    """Return what is due and open now, what is late or closes first first, and what opens within so many weeks."""
    until = session.today + timedelta(weeks=weeks)
    # All that is due is grouped before it is cut: trees later in a group are of its event wherever it is told.
    groups = [g for g in by_start(due_groups(session)) if g.start <= until]
    now = sorted(
        (g for g in groups if g.start <= session.today), key=lambda g: (late_since(g.items) or g.end, g.key)
    )
    return now, [g for g in groups if g not in now]


def by_start(groups: Iterable[EventGroup]) -> list[EventGroup]:
    """Return lines by the day they open."""
    return sorted(groups, key=lambda g: (g.start, g.end, g.key))
