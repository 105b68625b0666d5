"""The walks of the review as events of the calendar."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from calendar_core.app.plan.walks import review_plan
from calendar_core.planning.items import item_id
from calendar_core.wording.plan.event_text import NEAR_DAYS
from calendar_core.wording.review.walk_text import WALK_GROUP, WalkSpeaker

if TYPE_CHECKING:
    from collections.abc import Iterable
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.events import ComputedEvent, PublishedEvent

WALK = f"{WALK_GROUP}|"


def walk_events(session: Session) -> list[ComputedEvent]:
    """Return the walks that are planned; the third of a round stays the third, however its day moves."""
    done = _days_walked(session)
    numbers = Counter({key: len(days) for key, days in done.items()})
    tells, out = WalkSpeaker(session.speaker), []
    for walk in review_plan(session).round.walks:
        window = walk.stops[0].window
        number = numbers[window.round, window.cycle]
        numbers[window.round, window.cycle] += 1
        uid = item_id(session.garden.id, WALK_GROUP, window.round, window.cycle, number)
        out.append(tells.event(uid, walk, NEAR_DAYS))
    return out


def _days_walked(session: Session) -> dict[tuple[str, int], set[object]]:
    """Return by round and cycle the days on which trees were looked at."""
    out: dict[tuple[str, int], set[object]] = {}
    for state in session.grove.states.values():
        for review in state.reviews:
            out.setdefault((review.round, review.cycle), set()).add(review.on)
    return out


def walked(session: Session, told: Iterable[PublishedEvent], walks: Iterable[ComputedEvent]) -> set[UUID]:
    """Return the walks that were told and are done: their trees were looked at, so that none is called off."""
    ahead = {event.uid for event in walks}
    done = {
        (tree, f"{WALK}{review.round}", review.cycle)
        for tree, state in session.grove.states.items()
        for review in state.reviews
    }
    return {
        event.uid
        for event in told
        if event.group.startswith(WALK)
        and event.uid not in ahead
        and any((tree, event.group, event.cycle) in done for tree in event.tree_ids)
    }
