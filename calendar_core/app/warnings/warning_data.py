"""Warnings as data."""

from __future__ import annotations

from typing import TYPE_CHECKING

from alerts.outbox.standing import last_judgement
from calendar_core.app.warnings.stored_warnings import active_now, timed_events

if TYPE_CHECKING:
    from alerts.outbox.standing import StandingWarning
    from calendar_core.app.shell.session import Session


def warning_data(warning: StandingWarning) -> dict[str, object]:
    """Return a warning as it was last told."""
    return {
        "id": warning.id,
        "hazard": warning.hazard,
        "severity": warning.severity,
        "onset": warning.onset,
        "expires": warning.expires,
        "revision": warning.revision,
        "levels": warning.data["standing"]["levels"],
        "subject": warning.data["subject"],
        "text": warning.data["text"],
    }


def standing_data(session: Session) -> dict[str, object]:
    """Return the warnings that hold and the moves they ask for, as they were judged last; nothing is judged anew."""
    now = session.clock.now
    with session.store.read() as connection:
        last = last_judgement(connection, session.garden.id)
    return {
        "judged_at": None if last is None else last.judged_at,
        "forecast_at": None if last is None else last.forecast_at,
        "warnings": [warning_data(warning) for warning in active_now(session, now)],
        "moves": timed_events(session, now),
    }
