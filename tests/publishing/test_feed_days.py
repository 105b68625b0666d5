"""The work of days in the feed: hours by the garden's clock, and a reminder on the eve, as other readers take them.

RFC 5545 3.3.5 (form of an instant), 3.8.2.2 (DTEND), 3.8.6.3 (TRIGGER); the alarm arithmetic is that of icalendar.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject
from ical.calendar_stream import IcsCalendarStream

from calendar_core.planning.events import PublishedEvent
from calendar_core.publishing.feed import Reminders, feed

SEATTLE = ZoneInfo("America/Los_Angeles")

# Invented.
SATURDAY = PublishedEvent(
    uid=UUID("2f6f2b0e-52a5-5d35-9a52-0d6fd0a4c001"),
    group="work day",
    cycle=2015,
    tree_ids=(UUID(int=1),),
    start=date(2015, 6, 27),
    end=date(2015, 6, 27),
    summary="Decandling: Pine 1; 3 more, 1 h 40 min",
    description="Lines",
    reminder="Tomorrow: Decandling",
    categories=("Decandling",),
    status="CONFIRMED",
    sequence=0,
    created_at=datetime(2015, 6, 20, 4, tzinfo=UTC),
    revised_at=datetime(2015, 6, 20, 4, tzinfo=UTC),
    dates_changed=date(2015, 6, 20),
    text_changed=date(2015, 6, 20),
    calendar="work",
    begins=time(9),
    minutes=100,
)


def written(event: PublishedEvent, reminders: Reminders = "eve") -> bytes:
    return feed([event], name="Bench", description="Work", zone=SEATTLE, reminders=reminders)


def rings(event: PublishedEvent, reminders: Reminders = "eve") -> list[datetime]:
    """Return when the alarms ring by the garden's clock."""
    calendar = icalendar.Calendar.from_ical(written(event, reminders))
    assert isinstance(calendar, icalendar.Calendar)
    alarms = icalendar.Alarms(calendar.events[0])
    alarms.set_local_timezone(SEATTLE)
    return [alarm.trigger.astimezone(SEATTLE) for alarm in alarms.times]  # type: ignore[attr-defined]


@pytest.mark.parametrize(("day", "utc_h"), [(date(2015, 6, 27), 16), (date(2015, 11, 21), 17)])
def test_hours_are_those_of_the_gardens_clock_for_every_reader(day: date, utc_h: int) -> None:
    """Nine in Seattle is 16:00 UTC in summer and 17:00 in winter (RFC 5545 3.6.5 by its examples of New York, less 3 h)."""
    data = written(replace(SATURDAY, start=day, end=day))
    begins = datetime(day.year, day.month, day.day, utc_h, tzinfo=UTC)
    ends = begins + timedelta(minutes=100)
    (one,) = icalendar.Calendar.from_ical(data).walk("VEVENT")
    (two,) = IcsCalendarStream.calendar_from_ics(data.decode()).events
    three = vobject.readOne(data.decode()).vevent
    assert (one.decoded("DTSTART"), one.decoded("DTEND")) == (begins, ends)
    assert (two.dtstart, two.dtend) == (begins, ends)
    assert (three.dtstart.value, three.dtend.value) == (begins, ends)


def test_without_hours_it_is_a_day_without_zone() -> None:
    (event,) = icalendar.Calendar.from_ical(written(replace(SATURDAY, begins=None))).walk("VEVENT")
    assert (event.decoded("DTSTART"), event.decoded("DTEND")) == (date(2015, 6, 27), date(2015, 6, 28))


@pytest.mark.parametrize("begins", [None, time(9), time(18, 30)])
@pytest.mark.parametrize("day", [date(2015, 6, 27), date(2015, 3, 8), date(2015, 11, 1)])
def test_it_rings_in_the_evening_before_also_where_clocks_change(day: date, begins: time | None) -> None:
    """On 8 March and 1 November 2015 clocks changed in the United States."""
    (ring,) = rings(
        replace(SATURDAY, start=day, end=day, begins=begins, revised_at=datetime(2015, 1, 1, tzinfo=UTC))
    )
    assert (ring.date(), ring.hour) == (day - timedelta(days=1), 18)


@pytest.mark.parametrize(
    "event",
    [
        replace(SATURDAY, reminder=""),
        replace(SATURDAY, revised_at=datetime(2015, 6, 27, 1, 1, tzinfo=UTC)),  # 18:01 of Friday in Seattle
    ],
)
def test_nothing_rings_that_is_not_worth_it_or_is_past(event: PublishedEvent) -> None:
    assert rings(event) == []


def test_a_calendar_without_reminders_has_none() -> None:
    assert rings(SATURDAY, "none") == []
    assert len(rings(SATURDAY, "opening and last day")) == 2
