"""A move that has its hour stands in the place of the season's event that asks for the same."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.planning.places.operations import INTO

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from uuid import UUID

    from calendar_core.planning.events import PublishedEvent, TimedEvent

NEAR = timedelta(days=14)  # an early frost belongs to the winter's move if that is near (estimate)


def lend(
    events: Sequence[PublishedEvent], timed: Sequence[TimedEvent], now: datetime
) -> tuple[tuple[PublishedEvent, ...], tuple[TimedEvent, ...]]:
    """Return the events with what stands in their place, and the moves by the hour, those under the event's id first.

    Within the forecast's reach a move that brings all trees of a season's event under cover takes its place, and gives
    it back; each change counts as one of the event, so that its sequence and stamp never fall (RFC 5545 3.8.7.2-4).
    """
    out: list[PublishedEvent] = []
    taken: dict[UUID, TimedEvent] = {}
    for event in events:
        move = next((move for move in timed if _is_same(event, move)), None)
        first = move is not None and move.uid not in taken  # another event's trees may go by the same move
        mark = "" if move is None else f"{move.start.isoformat()} {move.sequence} {move.uid}"
        told = event if mark == event.lent else _lent(event, mark, now)
        out.append(told)
        if move is not None and first:
            taken[move.uid] = replace(move, uid=told.uid, sequence=told.sequence, revised_at=told.revised_at)
    return tuple(out), (*taken.values(), *(move for move in timed if move.uid not in taken))


def _lent(event: PublishedEvent, mark: str, now: datetime) -> PublishedEvent:
    stamp = max(now, event.revised_at + timedelta(seconds=1))
    return replace(event, lent=mark, sequence=event.sequence + 1, revised_at=stamp)


def _is_same(event: PublishedEvent, move: TimedEvent) -> bool:
    """Tell whether a move within the forecast's reach is the season's event of bringing the same trees in."""
    if event.status == "CANCELLED" or move.to is None or move.at:  # a way back is no move in
        return False
    near = event.start - NEAR <= move.start.date() <= event.end + NEAR
    return near and event.group.startswith(INTO) and set(event.tree_ids) <= set(move.tree_ids)
