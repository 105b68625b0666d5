"""The voice in which a garden is told of its weather."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from alerts.telling.voice import Voice

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session


def voice_of(session: Session) -> Voice:
    """Return the voice in which a garden is told of its weather."""
    spots = {spot.id: spot.name for spot in session.spots.values()}
    known = session.knowledge
    return Voice(
        session.style,
        ZoneInfo(session.garden.zone),
        session.labels,
        spots,
        known.cautions,
        known.warnings,
        session.garden.name,
        frozenset(tree.id for tree in session.trees if known.profiles[tree.species].tolerance.chill),
    )
