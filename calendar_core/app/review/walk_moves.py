"""Walks of a round put on other days."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.log.entries import entry, is_written, with_ids, write
from calendar_core.app.log.work_entries import written_before
from calendar_core.app.plan.walks import review_plan
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.receipt import Receipt
from calendar_core.wording.review.walk_text import WALKS

if TYPE_CHECKING:
    from datetime import date
    from uuid import UUID

    from calendar_core.app.shell.session import Session


def move_walk(session: Session, day: date, on: date, entry_id: UUID | None = None) -> Receipt:
    """Put the walk of a day on another one: the others follow. Raises Refusal."""
    if is_written(session, entry_id):
        return written_before(session)
    walks = {walk.on: walk for walk in review_plan(session).round.walks}
    if day not in walks:
        raise Refusal(
            f"{day}: no walk is planned then; right would be one of: {', '.join(map(str, walks)) or 'none'}"
        )
    if on < session.today or on == day:
        raise Refusal(f"{on}: right would be another day, from {session.today} on")
    opens = max(stop.window.opens for stop in walks[day].stops)
    ends = min(stop.window.closes for stop in walks[day].stops)
    if not opens <= on <= ends:
        raise Refusal(f"{on}: its trees' round is not open then; right would be a day from {opens} to {ends}")
    if any(first <= on <= last for first, last in session.absences):
        raise Refusal(f"{on}: you are away then; right would be a day on which you are there")
    there = walks[on].minutes if on in walks else 0
    data = {"off": day.isoformat(), "on": on.isoformat(), "minutes": walks[day].minutes + there}
    moved = {stop.tree_id for stop in walks[day].stops}
    which = [tree for tree in session.trees if tree.id in moved]
    (written,) = with_ids([entry(session, which, "walk", data, session.today)], entry_id)
    write(session, written)
    style, name = session.style, written.id.hex[:8]
    told = style.say(WALKS["moved"], off=style.weekday(day), on=style.weekday(on), entry=name)
    return Receipt((told,), entries=(written.id,))
