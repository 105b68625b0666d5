"""Calendar events as values: what the plan computes now, and what subscribers were told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, get_args

if TYPE_CHECKING:
    from datetime import date, datetime, time
    from uuid import UUID

EventStatus = Literal["TENTATIVE", "CONFIRMED", "CANCELLED"]
CalendarKind = Literal["work", "windows", "moves", "tree", "helper"]
"""What a calendar tells: work by days, the spans of the season, moves by the hour, one tree, what a helper does."""
MOVES = "moves by the hour"
"""The group of events of the work calendar that hold the moves of one hour."""
KINDS: tuple[CalendarKind, ...] = get_args(CalendarKind)


def kind_named(name: str) -> CalendarKind | None:
    """Return the kind of calendar of a name, None where there is none."""
    return next((kind for kind in KINDS if kind == name), None)


@dataclass(frozen=True, slots=True)
class CalendarOf:
    """Which calendar of a garden: its kind, and whose it is, of a kind that is of one tree."""

    kind: CalendarKind
    tree_id: UUID | None = None

    def __str__(self) -> str:
        """Return what a calendar file says that it holds."""
        return f"{self.kind} {self.tree_id}" if self.tree_id else self.kind


@dataclass(frozen=True, slots=True)
class ComputedEvent:
    """What the plan says now. ``end`` is the last day, inclusive.

    ``begins`` is the time of a day's work by the garden's clock, which takes ``minutes``; None for all of a day.
    ``uid`` never depends on a date, but of the work of a day, whose day it is.
    """

    uid: UUID
    group: str
    cycle: int
    tree_ids: tuple[UUID, ...]
    start: date
    end: date
    summary: str
    description: str
    reminder: str
    categories: tuple[str, ...]
    status: EventStatus
    calendar: CalendarKind = "windows"
    begins: time | None = None
    minutes: int = 0


@dataclass(frozen=True, slots=True)
class PublishedEvent:
    """What subscribers were told, with the history that damping and RFC 5545 need.

    ``sequence`` rises with published changes of dates or status; ``revised_at`` (UTC, whole seconds) is
    LAST-MODIFIED and DTSTAMP; ``dates_changed`` is the day on which dates or status last changed,
    ``text_changed`` that of the text. ``lent`` marks the move by the hour that stands in its place while a warning
    holds, empty when it stands for itself. ``moves`` is how often the weather moved its dates.
    """

    uid: UUID
    group: str
    cycle: int
    tree_ids: tuple[UUID, ...]
    start: date
    end: date
    summary: str
    description: str
    reminder: str
    categories: tuple[str, ...]
    status: EventStatus
    sequence: int
    created_at: datetime
    revised_at: datetime
    dates_changed: date
    text_changed: date
    lent: str = ""
    moves: int = 0
    calendar: CalendarKind = "windows"
    begins: time | None = None
    minutes: int = 0


@dataclass(frozen=True, slots=True)
class TimedEvent:
    """What has to be done by an hour, and holds until another: ``start`` and ``end`` are aware.

    ``uid`` stays as hours and trees change; ``sequence`` rises and ``revised_at`` moves on with each change. ``to`` is
    the spot of a move, ``back`` from when its trees stand where afterwards, None for where they stood; of
    a way back, ``at`` are the spots its trees stand at until then.
    """

    uid: UUID
    tree_ids: tuple[UUID, ...]
    start: datetime
    end: datetime
    summary: str
    description: str
    reminder: str
    sequence: int
    revised_at: datetime
    to: UUID | None = None
    back: tuple[tuple[datetime, UUID | None], ...] = ()
    at: tuple[UUID, ...] = ()


@dataclass(frozen=True, slots=True)
class ToldWork:
    """That an item's work was told for a day, with the last safe day that was told; ``told_at`` is in UTC.

    Where it has no time (``fits`` is false) it was told that the day is its last safe one.
    """

    item_id: UUID
    day: date
    safe: date
    told_at: datetime
    fits: bool = True
