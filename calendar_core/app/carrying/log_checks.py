"""Entries from elsewhere: whether this program can read a log that holds them, and all that they name is there."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.app.shell.days import ahead
from calendar_core.app.shell.forms import shortened
from calendar_core.garden.entry_form import faults_of, unknown_work
from calendar_core.garden.labels import right_of

if TYPE_CHECKING:
    from collections.abc import Collection
    from uuid import UUID

    from calendar_core.app.shell.clock import Clock
    from calendar_core.garden.model import Entry
    from calendar_core.knowledge.profiles.knowledge import Knowledge

SLOW_CLOCK = timedelta(days=1)
"""How far a moment of another device may lie ahead of the clock here (estimate): further on, all that is written
from now on would have to be later still."""


def faults_of_entry(
    entry: Entry, spots: Collection[UUID], knowledge: Knowledge, clock: Clock
) -> tuple[str, ...]:
    """Return a line for each value of an entry that cannot be, or that this program or the garden does not know."""
    out = [*faults_of(entry)]
    if entry.happened > clock.today:
        out.append(f"happened: {ahead(entry.happened, clock.today)}")
    if entry.recorded_at > clock.now + SLOW_CLOCK:
        right = f"right would be a moment up to now, {clock.now.isoformat()}"
        out.append(f"recorded_at: {entry.recorded_at.isoformat()} lies ahead; {right}")
    if out or entry.voids is not None:
        return tuple(out)
    return (
        *unknown_work(entry, knowledge.operations),
        *_of_decision(entry, knowledge),
        *_of_spot(entry, spots),
        *_of_name(entry),
    )


def _of_decision(entry: Entry, knowledge: Knowledge) -> tuple[str, ...]:
    fit = [key for key, form in knowledge.operations.items() if form.of_part is not None]
    decided = entry.data.get("decided", "") if entry.kind == "part" else ""
    if decided not in knowledge.operations or decided in fit:
        return ()  # none, or one that nobody knows
    return (f"data.decided: found {decided!r}; right would be one of: {', '.join(fit)}",)


def _of_name(entry: Entry) -> tuple[str, ...]:
    name = entry.data.get("name", "") if entry.kind == "part" else ""
    right = right_of(name, "part")
    return (f"data.name: found {shortened(name)}; right would be {right}",) if right else ()


def _of_spot(entry: Entry, spots: Collection[UUID]) -> tuple[str, ...]:
    spot = entry.data.get("spot") if entry.kind == "state" else None
    if spot is None or spot in map(str, spots):
        return ()
    return (f"data.spot: found '{spot}'; right would be the id of a spot of the garden",)
