"""Ids of events that name trees and come without a window of their own: they last as trees join and leave."""

from __future__ import annotations

from itertools import count
from typing import TYPE_CHECKING

from calendar_core.planning.items import item_id

if TYPE_CHECKING:
    from collections.abc import Set as AbstractSet
    from datetime import date
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.events import PublishedEvent


class LastingUids:
    """Gives each set of trees the id of the event in which most of them were told, each once, or a new one.

    Of ``told`` those go on that end no sooner than ``since``.
    """

    def __init__(self, session: Session, told: tuple[PublishedEvent, ...], since: date) -> None:
        self._garden = session.garden.id
        self._ahead = {event.uid: event for event in told if event.end >= since}
        self._used = {event.uid for event in told}

    def uid(self, group: str, cycle: int, trees: AbstractSet[UUID], day: date) -> UUID:
        """Return the id of trees that are told for a day: ``group`` is their kind and what they share, with a bar between."""
        same = [event for event in self._ahead.values() if (event.group, event.cycle) == (group, cycle)]
        near = max(
            same, key=lambda event: (len(trees & set(event.tree_ids)), event.start == day), default=None
        )
        if near is not None and trees & set(near.tree_ids):
            del self._ahead[near.uid]
            return near.uid
        kind, _, shared = group.partition("|")
        names = (item_id(self._garden, kind, shared, cycle, number) for number in count())
        uid = next(name for name in names if name not in self._used)
        self._used.add(uid)
        return uid
