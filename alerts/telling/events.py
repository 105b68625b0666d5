"""What is to be done about a warning, as timed events of the calendar."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING
from uuid import uuid5

from alerts.telling.warning import advice_for, do_line, due_cautions
from calendar_core.planning.events import TimedEvent
from calendar_core.wording import warning_text as phrases

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime
    from uuid import UUID

    from alerts.policy.judging import Change
    from alerts.policy.standing import Standing
    from alerts.telling.voice import Voice
    from alerts.threats import Advice


def events_of(
    voice: Voice, change: Change, advice: Iterable[Advice], now: datetime
) -> tuple[TimedEvent, ...]:
    """Return an event for each thing to do about a warning; nothing for trees that are left as they are."""
    due = advice_for(change.standing, change.threats, advice)
    alike: Counter[UUID] = Counter()
    events = []
    for one in due:
        if one.do != "nothing":
            first = event_id(change.standing.id, one)
            events.append(_event(voice, change.standing, one, alike[first], now))
            alike[first] += 1
    return tuple(events)


def event_id(warning: UUID, one: Advice, occurrence: int = 0) -> UUID:
    """Return the id of the event for one thing to do about a warning; ``occurrence`` counts moves to the same spot.

    Trees go to one spot at several hours, or come back at several.
    """
    return uuid5(warning, f"{one.do}|{one.to}" + (f"|{occurrence}" if occurrence else ""))


def _event(voice: Voice, standing: Standing, one: Advice, occurrence: int, now: datetime) -> TimedEvent:
    spot = voice.spots[one.to] if one.to else ""
    summary = voice.say(phrases.EVENT_SUMMARY[one.do], spot=spot, trees=voice.names(one.trees))
    keys = due_cautions(voice, standing, [one])
    cautions = [voice.say(phrases.CAUTION, text=voice.style.text(voice.cautions[key].text)) for key in keys]
    about = [
        do_line(voice, standing, one, now, most=len(one.trees)),
        *cautions,
        f"{voice.judged(now, standing.forecast_at)} {voice.say(phrases.OFFICIAL)}",
    ]
    by = voice.hour(one.by, one.by)
    return TimedEvent(
        uid=event_id(standing.id, one, occurrence),
        tree_ids=one.trees,
        start=one.by,
        end=one.until,
        summary=summary,
        description="\n\n".join(about),
        reminder=voice.say(phrases.EVENT_REMINDER, summary=summary, by=by),
        sequence=standing.revision,
        revised_at=now,
        to=one.to,
    )
