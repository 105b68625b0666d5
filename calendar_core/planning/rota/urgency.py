"""What needs the grower now: events sorted by how soon it would be too late."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Literal

from calendar_core.planning.waits import late_since

if TYPE_CHECKING:
    from collections.abc import Iterable

    from calendar_core.planning.groups import EventGroup

UrgencyKind = Literal["concern", "late", "closing", "now", "soon"]
ORDER: tuple[UrgencyKind, ...] = ("concern", "late", "closing", "now", "soon")
LAST_DAYS = 7  # a window that may close within a week is in its last days


@dataclass(frozen=True, slots=True)
class Urgency:
    """An event with how urgent it is."""

    urgency: UrgencyKind
    group: EventGroup


def urgent(groups: Iterable[EventGroup], today: date, days: int) -> list[Urgency]:
    """Return what is open now or opens within so many days, the most urgent first.

    What a tree is in danger without comes first of all that is as urgent, what is late the longest of what is late. A look that is late comes before a window in
    its last days: the window was told of before.
    """
    last = today + timedelta(days=days)
    events = [
        Urgency(_kind(group, today), group)
        for group in groups
        if group.start <= last and not _rests(group, today)
    ]
    return sorted(events, key=_place)


def _rests(group: EventGroup, today: date) -> bool:
    """Tell whether the grower put all of an event off, and that day has not come."""
    until = [
        [r.found for r in item.reasons if r.code == "put_off" and isinstance(r.found, date)]
        for item in group.items
    ]
    return all(any(day > today for day in days) for days in until)


def _place(event: Urgency) -> tuple[bool, int, bool, date, str]:
    protects = any(item.protects for item in event.group.items)
    late = protects and event.urgency == "late"
    last = late_since(event.group.items) or event.group.end
    return not late, ORDER.index(event.urgency), not protects, last, event.group.key


def _kind(group: EventGroup, today: date) -> UrgencyKind:
    codes = {reason.code for item in group.items for reason in item.reasons}
    if "concern" in codes:
        return "concern"
    if "overdue" in codes:
        return "late"
    if group.start > today:
        return "soon"
    if not group.items[0].label and group.end <= today + timedelta(days=LAST_DAYS):
        return "closing"
    return "now"
