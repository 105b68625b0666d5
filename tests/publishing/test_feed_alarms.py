"""When the reminders in the feed ring, by the alarm arithmetic of icalendar (RFC 5545 3.8.6.3, RFC 9074)."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import icalendar
import pytest

from calendar_core.planning.events import PublishedEvent
from calendar_core.publishing.feed import feed

SEATTLE = ZoneInfo("America/Los_Angeles")

# Invented.
CONFIRMED = PublishedEvent(
    uid=UUID("2f6f2b0e-52a5-5d35-9a52-0d6fd0a4c001"),
    group="partial defoliation",
    cycle=2015,
    tree_ids=(UUID(int=1),),
    start=date(2015, 6, 10),
    end=date(2015, 6, 24),
    summary="Partial defoliation: maple",
    description="Why",
    reminder="Partial defoliation",
    categories=(),
    status="CONFIRMED",
    sequence=2,
    created_at=datetime(2015, 3, 1, 4, tzinfo=UTC),
    revised_at=datetime(2015, 5, 28, 4, tzinfo=UTC),
    dates_changed=date(2015, 5, 27),
    text_changed=date(2015, 5, 27),
)


def component(event: PublishedEvent) -> icalendar.Event:
    calendar = icalendar.Calendar.from_ical(feed([event], name="Bench", description="Work", zone=SEATTLE))
    assert isinstance(calendar, icalendar.Calendar)
    return calendar.events[0]


def rings(event: PublishedEvent) -> list[date]:
    """Return when the alarms ring in the garden's time."""
    alarms = icalendar.Alarms(component(event))
    alarms.set_local_timezone(SEATTLE)
    return sorted(time.trigger for time in alarms.times)


def at_eight(month: int, day: int) -> datetime:
    return datetime(2015, month, day, 8, tzinfo=SEATTLE)


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({}, [at_eight(6, 9), at_eight(6, 24)]),
        # 08:00 in Seattle is 15:00 UTC in June.
        ({"revised_at": datetime(2015, 6, 9, 15, 0, tzinfo=UTC)}, [at_eight(6, 9), at_eight(6, 24)]),
        ({"revised_at": datetime(2015, 6, 9, 15, 1, tzinfo=UTC)}, [at_eight(6, 24)]),
        ({"revised_at": datetime(2015, 6, 24, 15, 1, tzinfo=UTC)}, []),
        ({"status": "CANCELLED"}, []),
        ({"status": "TENTATIVE"}, [at_eight(6, 9), at_eight(6, 24)]),
        # 27 May, 04:00 UTC is still the 26th in Seattle: 15 days before the opening.
        ({"status": "TENTATIVE", "revised_at": datetime(2015, 5, 27, 4, tzinfo=UTC)}, []),
        ({"revised_at": datetime(2015, 1, 1, tzinfo=UTC)}, [at_eight(6, 9), at_eight(6, 24)]),
    ],
)
def test_alarms_ring_on_the_eve_and_on_the_last_day(
    changed: dict[str, Any], expected: list[datetime]
) -> None:
    assert rings(replace(CONFIRMED, **changed)) == expected


def test_alarms_keep_their_identity_when_the_window_moves() -> None:
    """RFC 9074 4: the UID of an alarm is its own and lasts."""
    moved = replace(CONFIRMED, start=date(2015, 6, 12), end=date(2015, 6, 30), sequence=3)
    before, after = (
        [str(alarm["uid"]) for alarm in component(event).walk("VALARM")] for event in (CONFIRMED, moved)
    )
    assert before == after
    assert len(set(before)) == 2


def test_an_alarm_shows_the_reminder_or_else_the_summary() -> None:
    spoken = [
        {str(alarm["description"]) for alarm in component(event).walk("VALARM")}
        for event in (CONFIRMED, replace(CONFIRMED, reminder=""))
    ]
    assert spoken == [{"Partial defoliation"}, {"Partial defoliation: maple"}]
