"""Told dates, and what moved them: the steps of a chain of plans in which one thing after another comes true.

Whatever the order of the things, the steps add up to the whole move, for each begins where the one before ended.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from calendar_core.knowledge.words import DATE_SIDES, MOVE_CAUSES
from calendar_core.planning.groups import last_day_of
from calendar_core.planning.waits import late_since, waits_for_planned_work

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date
    from uuid import UUID

    import numpy as np
    from numpy.typing import NDArray

    from calendar_core.garden.model import EntryKind
    from calendar_core.knowledge.words import DateSide, MoveCause
    from calendar_core.planning.items import Item
    from calendar_core.weather.daily import DailySeries

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ToldDate:
    """A date as it was last told: when a window opens, or its last safe day; ``basis`` names what it rested on."""

    item_id: UUID
    side: DateSide
    tree_id: UUID
    day: date
    told_on: date
    basis: UUID


@dataclass(frozen=True, slots=True)
class Spell:
    """Days measured since: how much warmer than usual they were on average, or than had been expected [degC]."""

    first: date
    last: date
    warmer_c: float
    than: Literal["usual", "expected"]


@dataclass(frozen=True, slots=True)
class Written:
    """An entry written since: its kind, the stage or operation it is about if it is of one, and its day.

    Of what was taken back the kind is "void".
    """

    kind: EntryKind | Literal["void"]
    what: str
    on: date


@dataclass(frozen=True, slots=True)
class MovePart:
    """What one cause moved a date by [days], negative if it came sooner, with the facts of that cause."""

    cause: MoveCause
    days: int
    spell: Spell | None = None
    written: tuple[Written, ...] = ()


@dataclass(frozen=True, slots=True)
class DateMove:
    """A told date that moved; ``parts`` add up to the move, in the order of `MOVE_CAUSES`."""

    item_id: UUID
    side: DateSide
    tree_id: UUID
    told_on: date
    moved_on: date
    before: date
    after: date
    parts: tuple[MovePart, ...]
    operation: str
    rule: str
    cycle: int
    label: str = ""
    part: str = ""

    @property
    def days(self) -> int:
        """By how many days it moved, negative if it comes sooner."""
        return (self.after - self.before).days


def day_of(item: Item, side: DateSide) -> date:
    """Return when an item opens, or its last safe day, that which lines and events show."""
    return item.opens.likely if side == "opens" else last_day_of(item)


def days_told(item: Item, today: date) -> dict[DateSide, date]:
    """Return the dates of an item that are told: no last day of a look, nor of what stands until it is done.

    That is what is late, and what protects a tree and is open: it would move on with each day. So would what waits for
    work that is planned and not done: none of its dates is told.
    """
    if waits_for_planned_work(item):
        return {}
    stands = late_since([item]) is not None or (item.protects and item.opens.likely <= today)
    sides: tuple[DateSide, ...] = ("opens",) if item.label or stands else DATE_SIDES
    return {side: day_of(item, side) for side in sides}


def still_ahead(told: ToldDate, day: date, today: date) -> bool:
    """Tell whether a told date or the one it moved to is still to come.

    An opening that has been is no news, nor is a last day that has passed and walks on with today.
    """
    return max(told.day, day) > today or (told.side == "safe" and told.day == today)


def was_open(told: ToldDate, day: date) -> bool:
    """Tell whether an opening lies before the day on which a later one was told: that is no move to wait for.

    The window stood open then, as since last spring, and a wait within it is over. It is told anew without a move.
    """
    return told.side == "opens" and day < told.told_on


def differences(told: date, steps: Iterable[tuple[MoveCause, date | None]]) -> dict[MoveCause, int]:
    """Return the days by which each step moved a date that was told; those that moved nothing are left out.

    A step whose plan has no such date (None) moves nothing by itself: what it does shows in the next one.
    """
    moved: dict[MoveCause, int] = {}
    before = told
    for cause, day in steps:
        if day is not None:
            moved[cause] = moved.get(cause, 0) + (day - before).days
            before = day
    return {cause: days for cause, days in moved.items() if days}


def spell_of(days: DailySeries, usual_c: Floats, expected_c: Floats) -> Spell | None:
    """Return how measured days were against the usual and the expected daily means (n_days,) [degC]; None without any.

    They are told against what was expected where that says the opposite: a week that is warm, but less so than it was
    forecast, moves dates as a cold one does.
    """
    known = days.measured
    if not known.any():
        return None
    mean = (days.t_min_c + days.t_max_c)[known] / 2
    than_usual, than_expected = (float((mean - other[known]).mean()) for other in (usual_c, expected_c))
    if than_usual * than_expected < 0:
        return Spell(days.start, days.end, round(than_expected, 2), "expected")
    return Spell(days.start, days.end, round(than_usual, 2), "usual")


def joined(first: DateMove, second: DateMove) -> DateMove | None:
    """Return two moves of a date on one day as one; None where the second takes the first back."""
    if first.before == second.after:
        return None
    parts = [
        _sum(cause, [part for part in (*first.parts, *second.parts) if part.cause == cause])
        for cause in MOVE_CAUSES
    ]
    kept = tuple(part for part in parts if part.days)
    return replace(second, told_on=first.told_on, before=first.before, parts=kept)


def _sum(cause: MoveCause, parts: Sequence[MovePart]) -> MovePart:
    spells = [part.spell for part in parts if part.spell is not None]
    written = dict.fromkeys(note for part in parts for note in part.written)
    spell = spells[-1] if spells else None
    return MovePart(cause, sum(part.days for part in parts), spell, tuple(written))
