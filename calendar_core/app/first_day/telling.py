"""What tells most of a garden in few lines: one item of its plan, one warning that holds, the next events of its calendar."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from alerts.policy.cap import DANGER_SEVERITIES
from calendar_core.app.calendar.publishing import events_in
from calendar_core.app.plan.line_names import due_groups
from calendar_core.app.warnings.stored_warnings import tellers_now
from calendar_core.knowledge.forms.operations import HEAVY
from calendar_core.planning.events import MOVES
from calendar_core.wording.plan.plan_text import why_lines

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import date
    from uuid import UUID

    from alerts.outbox.standing import StandingWarning
    from calendar_core.app.calendar.publishing import Publication
    from calendar_core.app.shell.session import Session
    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.items import Item
    from calendar_core.planning.rota.work_days import WorkDay

SOON = timedelta(weeks=3)  # as far as work is put on days


def telling_line(session: Session) -> EventGroup | None:
    """Return the line of the plan that has most to explain: of heavy work due soon that with most reasons, else of any."""
    open_soon = [
        group
        for group in due_groups(session)
        if group.start <= session.today + SOON and group.end >= session.today
    ]
    operations = session.knowledge.operations
    heavy = [group for group in open_soon if operations[group.items[0].operation].weight >= HEAVY]

    def place(group: EventGroup) -> tuple[int, date, str]:
        return -len(why_lines(session.speaker, group.items[0])), group.end, group.key

    return min(heavy or open_soon, key=place, default=None)


def day_of(publication: Publication, items: Collection[Item]) -> date | None:
    """Return the first day that has all of some work, None for none."""
    wanted = {item.id for item in items}
    return next((work.day for work in publication.work.days if wanted <= _timed(work)), None)


def _timed(work: WorkDay) -> set[UUID]:
    return {item.id for line in work.lines for item in line.items}


def gravest_warning(session: Session) -> StandingWarning | None:
    """Return the warning that holds and is worst: danger first, then that of most trees, then the earliest."""

    def place(warning: StandingWarning) -> tuple[bool, int, object]:
        trees = len(warning.data["standing"]["levels"])
        return warning.severity not in DANGER_SEVERITIES, -trees, warning.onset

    return min(tellers_now(session, session.clock.now), key=place, default=None)


def events_after(publication: Publication, day: date) -> list[tuple[date, str]]:
    """Return day and title of the events of the calendar of work that begin after a day, in order.

    Moves that have their hour stand on the first screen, and with their warning.
    """
    events = [event for event in events_in(publication, "work") if event.group != MOVES]
    return sorted((event.start, event.summary) for event in events if event.start > day)
