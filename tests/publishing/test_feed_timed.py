"""Moves that have their hour, as three readers of RFC 5545 see them; hours are checked against the zone's own clock."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject
from ical.calendar_stream import IcsCalendarStream

from calendar_core.planning.events import TimedEvent
from calendar_core.publishing.feed import feed

SEATTLE = ZoneInfo("America/Los_Angeles")

# Invented.
MOVE = TimedEvent(
    uid=UUID("7c1d2a0e-52a5-5d35-9a52-0d6fd0a4c0aa"),
    tree_ids=(UUID(int=1), UUID(int=2)),
    start=datetime(2015, 6, 27, 9, tzinfo=SEATTLE),
    end=datetime(2015, 6, 28, 19, tzinfo=SEATTLE),
    summary="To “under the ash”: Maple 1, Maple 2",
    description="By 9:00 move Maple 1 and Maple 2.\n\nCaution: two people.",
    reminder="To “under the ash”, by 9:00",
    sequence=2,
    revised_at=datetime(2015, 6, 26, 18, tzinfo=SEATTLE),
)


def written(*moves: TimedEvent) -> bytes:
    return feed([], timed=moves, name="Bench", description="Work", zone=SEATTLE)


def test_all_readers_see_the_same_hours() -> None:
    data = written(MOVE).decode()
    begins, ends = datetime(2015, 6, 27, 16, tzinfo=UTC), datetime(2015, 6, 29, 2, tzinfo=UTC)
    (first,) = IcsCalendarStream.calendar_from_ics(data).events
    assert (first.start, first.end, first.summary) == (begins, ends, MOVE.summary)
    second = vobject.readOne(data).vevent
    assert (second.dtstart.value, second.dtend.value) == (begins, ends)
    assert second.description.value == MOVE.description
    (third,) = icalendar.Calendar.from_ical(data).events
    assert (third.start, third.end, third["SEQUENCE"], third["UID"]) == (begins, ends, 2, str(MOVE.uid))
    assert MOVE.revised_at == third.DTSTAMP


def test_it_rings_an_hour_before() -> None:
    (event,) = icalendar.Calendar.from_ical(written(MOVE)).events
    (alarm,) = icalendar.Alarms(event).times
    assert alarm.trigger == MOVE.start - timedelta(hours=1)


def test_the_same_moves_are_the_same_bytes_in_whatever_order_and_zone() -> None:
    other = replace(MOVE, uid=UUID(int=5))
    in_utc = replace(MOVE, start=MOVE.start.astimezone(UTC), end=MOVE.end.astimezone(UTC))
    assert written(MOVE, other) == written(other, in_utc)


@pytest.mark.parametrize("end", [MOVE.start, MOVE.start - timedelta(hours=2)])
def test_an_event_never_ends_before_it_begins(end: datetime) -> None:
    (event,) = icalendar.Calendar.from_ical(written(replace(MOVE, end=end))).events
    assert event.end == MOVE.start + timedelta(minutes=30)
