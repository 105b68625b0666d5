"""What would follow from work that is only imagined."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from calendar_core.app.log.entries import entry
from calendar_core.app.shell.plan_weather import weather_at
from calendar_core.app.shell.session import Session
from calendar_core.garden.model import Entry, Tree
from calendar_core.garden.state import states
from calendar_core.planning.planner import axis_of
from calendar_core.planning.seasons.species_stages import Grove
from calendar_core.planning.what_if import Consequences, consequences


def imagined(
    session: Session, which: list[Tree], operation: str, day: date, share: float | None
) -> Consequences:
    """Return what would follow if work were done to trees on a day, taking a ``share`` of the foliage."""
    data: dict[str, object] = {"operation": operation} | ({} if share is None else {"share": share})
    imagined = replace(entry(session, which, "work", data, session.today), happened=day)
    sky = weather_at(session.store, session.garden, session.today, axis_of(session.garden, day)).sky
    without, done = (
        _grove(session, which, entries, day) for entries in (session.entries, (*session.entries, imagined))
    )
    return consequences(without, done, sky, session.knowledge, day, operation)


def _grove(session: Session, which: list[Tree], entries: tuple[Entry, ...], day: date) -> Grove:
    return Grove(session.garden, session.spots, which, states([tree.id for tree in which], entries, day))
