"""The plan in a line or two an item: what is late or open, and under each month what opens in it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from calendar_core.app.plan.line_names import name_of
from calendar_core.app.shell.output import ItemRow, heading, items, say
from calendar_core.app.shell.program import program
from calendar_core.planning.waits import late_since
from calendar_core.wording.plan.due_text import when_over
from calendar_core.wording.plan.line_text import facts, heads, when_likely
from calendar_core.wording.plan.plan_text import PLAN

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session
    from calendar_core.planning.groups import EventGroup


def short_sections(session: Session, now: Sequence[EventGroup], coming: Sequence[EventGroup]) -> None:
    """Print what is late or open now, then what opens, by its month."""
    style, today = session.style, session.today
    late = [group for group in now if late_since(group.items) is not None]
    section(session, style.say(PLAN["late"]), late)
    section(session, style.say(PLAN["open"]), [group for group in now if group not in late])
    months: dict[str, list[EventGroup]] = {}
    for group in coming:
        months.setdefault(style.month(group.start, today), []).append(group)
    for month, groups in months.items():
        section(session, month, groups)


def section(session: Session, title: str, groups: Sequence[EventGroup], *, named: bool = True) -> None:
    """Print groups under a title, with the name by which each is answered unless it cannot be."""
    if groups:
        heading(title)
        items([_row(session, group, named=named) for group in groups])


def how_to_see_more(session: Session) -> None:
    """Print where more is told."""
    say()
    say(session.style.say(PLAN["more"], program=program()))


def _row(session: Session, group: EventGroup, *, named: bool) -> ItemRow:
    """Return the name of a line and its day: when it opens, or until when it is safe if it is open; then what it is."""
    some, speaker, labels = group.items, session.speaker, session.labels
    is_open = group.start <= session.today
    day = when_over(speaker, group) if is_open else speaker.style.short_day(group.start)
    told = heads(speaker, some, labels, when_likely(speaker, group, is_open=is_open))
    return [*([name_of(some)] if named else []), day], told, facts(speaker, some, labels)
