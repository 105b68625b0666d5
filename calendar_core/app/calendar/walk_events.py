"""The walks of the review as events of the calendar."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.app.calendar.lasting import LastingUids
from calendar_core.app.plan.walks import review_plan
from calendar_core.wording.plan.event_text import NEAR_DAYS
from calendar_core.wording.review.walk_text import WALK_GROUP, WalkSpeaker

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.events import ComputedEvent, PublishedEvent

MISSED = timedelta(weeks=3)  # a walk that was not walked goes on as the next one


def walk_events(session: Session, told: Sequence[PublishedEvent]) -> list[ComputedEvent]:
    """Return the walks that are planned; each goes on as the event that was told of most of its trees."""
    walks_told = tuple(event for event in told if event.group.startswith(WALK_GROUP))
    uids = LastingUids(session, walks_told, session.today - MISSED)
    tells, out = WalkSpeaker(session.speaker), []
    for walk in review_plan(session).pressing:
        window, trees = walk.stops[0].window, {stop.tree_id for stop in walk.stops}
        uid = uids.uid(f"{WALK_GROUP}{window.round}", window.cycle, trees, walk.on)
        out.append(tells.event(uid, walk, NEAR_DAYS))
    return out


def walked(session: Session, told: Iterable[PublishedEvent], walks: Iterable[ComputedEvent]) -> set[UUID]:
    """Return the walks that were told and are done: their trees were looked at, so that none is called off."""
    ahead = {event.uid for event in walks}
    done = {
        (tree, f"{WALK_GROUP}{review.round}", review.cycle)
        for tree, state in session.grove.states.items()
        for review in state.reviews
    }
    return {
        event.uid
        for event in told
        if event.group.startswith(WALK_GROUP)
        and event.uid not in ahead
        and any((tree, event.group, event.cycle) in done for tree in event.tree_ids)
    }
