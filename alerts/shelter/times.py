"""By when a move has to be made, and until when it lasts, in hours at which a grower is about."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from zoneinfo import ZoneInfo

    from alerts.threats import Threat
    from calendar_core.knowledge.words import Hazard, Means

BEFORE = timedelta(hours=1)
"""A tree is to stand in its place so long before the hour of harm (estimate: a bench cleared, and pots cooled)."""
PAUSE = timedelta(days=1)
"""No tree is carried back for a single day (common practice)."""
MORNING, EVENING = time(9), time(20)
"""Moves out of the sun are done before the day's work, those out of the frost before dark (common practice)."""
NIGHTLY: frozenset[Hazard] = frozenset({"frost", "cold roots"})
LIT: frozenset[Hazard] = frozenset({"heat", "sunburn", "hot roots"})  # met by less light


def by_when(threat: Threat, do: Means, now: datetime, zone: ZoneInfo) -> datetime:
    """Return by when the tree has to be cared for: an hour before harm, moves at a usual hour; at once where that is past."""
    wanted = threat.begins - BEFORE
    if threat.hazard in NIGHTLY:
        wanted = min(wanted, datetime.combine(threat.day - timedelta(days=1), EVENING, zone))
    elif do != "water":
        wanted = min(wanted, datetime.combine(threat.day, MORNING, zone))
    return max(wanted, now).astimezone(zone)


def until_when(threat: Threat, others: Iterable[Threat], pause: timedelta = timedelta(0)) -> datetime:
    """Return when the tree may stand again where it stands now: as the last of days in a row ends that threaten it.

    ``others`` are all threats of the same hazard to the same tree; a ``pause`` between them is waited through.
    """
    day, ends = threat.day, threat.ends
    for other in sorted(others, key=lambda other: other.day):
        if day <= other.day <= day + pause + timedelta(days=1):
            day, ends = other.day, other.ends
    return ends
