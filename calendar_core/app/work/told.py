"""What subscribers of the calendar were told of the days ahead, for the rota that goes on from it."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from calendar_core.planning.rota.told_days import NOTHING_TOLD, ToldDays, told_days
from calendar_core.storage import published
from calendar_core.storage.services import latest_snapshot

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session

TOLD_UNTIL, TOLD_AT = "work_told_until", "work_told_at"  # keys of a snapshot
MISSED_WITHIN = timedelta(
    weeks=2
)  # work whose day went by longer ago is planned as if it had had none (estimate)


def told_days_of(session: Session) -> ToldDays:
    """Return the days for which work was told; none where the grower's time changed since: it is put on days anew."""
    with session.store.read() as connection:
        told = published.load_work(connection, session.garden.id, session.today - MISSED_WITHIN)
        snapshot = latest_snapshot(connection, session.garden.id, session.today)
    if snapshot is None or TOLD_UNTIL not in snapshot[1]:
        return NOTHING_TOLD
    until = date.fromisoformat(snapshot[1][TOLD_UNTIL])
    told_at = datetime.fromisoformat(snapshot[1][TOLD_AT])
    of_time = {entry.id for entry in session.entries if entry.kind in ("hours", "away")}
    time_changed = any(
        (entry.id in of_time or entry.voids in of_time) and entry.recorded_at > told_at
        for entry in session.entries
    )
    if time_changed:
        return NOTHING_TOLD
    since = told_at.astimezone(session.zone).date()
    return told_days(told, session.today, since, until)
