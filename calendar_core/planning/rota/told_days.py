"""What was told of the days ahead: work keeps the day it was told for, and the next days change for few reasons alone."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.planning.waits import late_since

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from uuid import UUID

    from calendar_core.planning.events import ToldWork
    from calendar_core.planning.items import Item

SETTLED_DAYS = 2
"""So many days after today change only by an answer, a warning, weather that forbids work, or a window that closes
(estimate: a grower has read them, and has laid out tools for them)."""


@dataclass(frozen=True, slots=True)
class ToldDays:
    """The days that items were told for, from today on, and the last day of those whose day went by since.

    Until ``settled``, included, no work is put on a day it was not told for; None where nothing was told. ``ends`` are the
    days that were told to be the last safe ones of items for which there was no time.
    """

    days: Mapping[UUID, Sequence[date]] = field(default_factory=dict)
    missed: Mapping[UUID, date] = field(default_factory=dict)
    settled: date | None = None
    ends: Mapping[UUID, date] = field(default_factory=dict)

    def with_days(self, days: Mapping[UUID, Sequence[date]]) -> ToldDays:
        """Return the same with other days for items."""
        return replace(self, days=days)

    def day_of(self, item: Item, first: date, last: date) -> date | None:
        """Return the day from ``first`` to ``last`` for which an item was told, None for none."""
        return next((day for day in self.days.get(item.id, ()) if first <= day <= last), None)

    def anew(self, items: Sequence[Item], first: date, safe: date) -> date:
        """Return from when work may be put on a day it was not told for.

        What saves a tree, is late, was asked for, closes before that or was told for a day that went by may be added to
        the next days.
        """
        if self.settled is None or safe <= self.settled:
            return first
        if late_since(items) is not None or any(item.status == "wished" for item in items):
            return first
        if any(item.protects or self._was_missed(item) for item in items):
            return first
        return max(first, self.settled + timedelta(days=1))

    def _was_missed(self, item: Item) -> bool:
        """Tell whether an item's day went by without an answer: what was answered opens later."""
        day = self.missed.get(item.id)
        return day is not None and item.opens.likely <= day


NOTHING_TOLD = ToldDays()


def told_days(told: Iterable[ToldWork], today: date, since: date, until: date | None) -> ToldDays:
    """Return what was told of the days from ``today`` on; ``until`` is the last day of which something was told.

    ``since`` is the day on which it was told last: work whose day had gone by then was told for another day, if any.
    """
    days: defaultdict[UUID, list[date]] = defaultdict(list)
    missed: dict[UUID, date] = {}
    ends: dict[UUID, date] = {}
    for work in told:
        if not work.fits:
            if work.day >= today:
                ends[work.item_id] = work.day
        elif work.day >= today:
            days[work.item_id].append(work.day)
        elif work.day >= since:
            missed[work.item_id] = max(work.day, missed.get(work.item_id, work.day))
    settled = None if until is None or until < today else min(today + timedelta(days=SETTLED_DAYS), until)
    return ToldDays({item: sorted(dates) for item, dates in days.items()}, missed, settled, ends)
