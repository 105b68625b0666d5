"""The grower's time, written down: free hours of a week, and days away."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.log.entries import entry, is_written, with_ids, write
from calendar_core.app.log.work_entries import written_before
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.receipt import Receipt
from calendar_core.app.work.free_time import begins_of, week_of
from calendar_core.wording.plan.rota_text import HOURS, away_line, week_words

if TYPE_CHECKING:
    from datetime import date
    from uuid import UUID

    from calendar_core.app.shell.session import Session


def write_week(session: Session, week: str, entry_id: UUID | None = None) -> Receipt:
    """Write down the free time of a week as typed, such as "Sat 9:00-12:00, Sun 2h". Raises Refusal."""
    if is_written(session, entry_id):
        return written_before(session)
    minutes, at = week_of(week), begins_of(week)
    of_day = {"begins": [each and each.isoformat("minutes") for each in at]} if any(at) else {}
    made = entry(session, [], "hours", {"weekly": minutes, **of_day}, session.today)
    (written,) = with_ids([made], entry_id)
    write(session, written)
    free = week_words(session.style, minutes, at)
    told = session.style.say(HOURS["written"], week=free, entry=written.id.hex[:8])
    return Receipt((told,), entries=(written.id,))


def write_away(session: Session, begins: date, ends: date, entry_id: UUID | None = None) -> Receipt:
    """Write down days on which the grower is away, the last one too. Raises Refusal."""
    if is_written(session, entry_id):
        return written_before(session)
    if ends < begins:
        raise Refusal(f"away from {begins} until {ends}; right would be an end on or after the beginning")
    data = {"from": begins.isoformat(), "until": ends.isoformat()}
    (written,) = with_ids([entry(session, [], "away", data, session.today)], entry_id)
    write(session, written)
    told = away_line(session.speaker, begins, ends, written.id.hex[:8])
    return Receipt((told,), entries=(written.id,))
