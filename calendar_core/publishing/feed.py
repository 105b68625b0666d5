"""The published events as an iCalendar object: RFC 5545 and 7986, and what calendar programs make of them."""

from __future__ import annotations

import unicodedata
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING, Literal
from uuid import uuid5

from icalendar import Alarm, Calendar, Event, vDuration, vText

from calendar_core.planning.events import MOVES

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date, tzinfo

    from calendar_core.planning.events import PublishedEvent, TimedEvent

Reminders = Literal["opening and last day", "eve", "none"]

PRODID = "-//Leafclock//Leafclock 0.1//EN"
REFRESH = timedelta(hours=12)

# Seen from a midnight this is 08:00 of the day before. An all-day DTEND is the midnight after the last day,
# so the same trigger rings on the eve of the opening and, at the end, on the last day itself.
RINGS_AT = time(8)
RINGS_FROM_MIDNIGHT = timedelta(hours=-16)
# An unsure date this far off is not worth a reminder (estimate); its next revision brings one.
REMIND_TENTATIVE_WITHIN_D = 14

EVE = time(18)  # when the work of tomorrow is reminded of: tools can still be laid out (estimate)
RINGS_BEFORE = timedelta(hours=1)  # before a move that has its hour (estimate)
LEAST = timedelta(minutes=30)  # length of an event; some calendars hide one that takes no time

CANCELLED_PREFIX = "Cancelled: "


def feed(
    events: Iterable[PublishedEvent],
    *,
    timed: Iterable[TimedEvent] = (),
    name: str,
    description: str,
    refresh: timedelta = REFRESH,
    zone: tzinfo = UTC,
    reminders: Reminders = "opening and last day",
) -> bytes:
    """Return the events as an iCalendar object in UTF-8.

    The bytes depend on the arguments alone, not on the order of ``events`` or on the clock: an unchanged
    plan is an unchanged file.

    Parameters
    ----------
    timed
        What has to be done by an hour; instants are written in UTC, and a reminder rings an hour before.
    refresh
        How long a program should wait before it looks again.
    zone
        The garden's zone: of it are the hours of a day's work, and which reminders lay already behind when an event was
        revised.
    reminders
        When events of whole days remind.

    Notes
    -----
    Source: RFC 5545 (3.6.1 events, 3.8.7 change management), RFC 7986 (5.1 NAME, 5.7 REFRESH-INTERVAL),
    RFC 9074 (UID of an alarm). There is no METHOD, so DTSTAMP means "last revised" (3.8.7.2) and equals
    LAST-MODIFIED; and no UID of the whole, which makes some readers take all events for one. With no events
    the object has no component: the grammar wants one, but readers accept none, and an event made up to fill
    the gap would need a date. Whoever serves the file must not serve an empty one when something failed.
    """
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", PRODID)
    # icalendar does not know all of these to be text, and would leave them unescaped.
    calendar.add("name", vText(_line(name)))
    calendar.add("x-wr-calname", vText(_line(name)))
    calendar.add("description", vText(_text(description)))
    calendar.add("x-wr-caldesc", vText(_text(description)))
    calendar.add("refresh-interval", refresh, parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", _duration(refresh))
    for event in sorted(events, key=lambda event: event.uid):
        calendar.add_component(_component(event, zone, reminders))
    for move in sorted(timed, key=lambda move: move.uid):
        calendar.add_component(_timed(move))
    data: bytes = calendar.to_ical(sorted=False)
    return data


def _duration(span: timedelta) -> str:
    data: bytes = vDuration(span).to_ical()  # type: ignore[no-untyped-call]  # icalendar leaves it untyped
    return data.decode()


def _component(event: PublishedEvent, zone: tzinfo, reminders: Reminders) -> Event:
    prefix = CANCELLED_PREFIX if event.status == "CANCELLED" else ""
    component = Event()
    component.add("uid", str(event.uid))
    component.add("dtstamp", event.revised_at)
    component.add("created", event.created_at)
    component.add("last-modified", event.revised_at)
    component.add("sequence", event.sequence)
    start, end = _span(event, zone)
    component.add("dtstart", start)
    component.add("dtend", end)
    component.add("summary", prefix + _line(event.summary))
    component.add("description", _text(event.description))
    # Some readers split a category at a comma even where it is escaped.
    categories = [_line(category.replace(",", " ")) for category in event.categories]
    if any(categories):
        component.add("categories", [category for category in categories if category])
    component.add("status", event.status)
    component.add("transp", "TRANSPARENT")
    component.add("x-microsoft-cdo-busystatus", "FREE")
    for alarm in _alarms(event, zone, reminders):
        component.add_component(alarm)
    return component


def _span(event: PublishedEvent, zone: tzinfo) -> tuple[date, date]:
    """Return beginning and end: whole days, the end exclusive, or the hours of a day's work in UTC."""
    if event.begins is None:
        return event.start, event.end + timedelta(days=1)
    begins = datetime.combine(event.start, event.begins, zone).astimezone(UTC)
    return begins, begins + max(timedelta(minutes=event.minutes), LEAST)


def _timed(move: TimedEvent) -> Event:
    component = Event()
    component.add("uid", str(move.uid))
    component.add("dtstamp", move.revised_at.astimezone(UTC))
    component.add("last-modified", move.revised_at.astimezone(UTC))
    component.add("sequence", move.sequence)
    component.add("dtstart", move.start.astimezone(UTC))
    component.add("dtend", max(move.end, move.start + LEAST).astimezone(UTC))
    component.add("summary", _line(move.summary))
    component.add("description", _text(move.description))
    component.add("status", "CONFIRMED")
    component.add("transp", "TRANSPARENT")
    component.add("x-microsoft-cdo-busystatus", "FREE")
    if not move.reminder:
        return component
    alarm = Alarm()
    alarm.add("uid", str(uuid5(move.uid, "START")))
    alarm.add("action", "DISPLAY")
    alarm.add("description", _line(move.reminder))
    alarm.add("trigger", -RINGS_BEFORE)
    component.add_component(alarm)
    return component


def _alarms(event: PublishedEvent, zone: tzinfo, reminders: Reminders) -> list[Alarm]:
    """Return the reminders that lay ahead when the event was revised."""
    if reminders == "opening and last day":
        return _of_span(event, zone)
    return _on_eve(event, zone) if reminders == "eve" else []


def _on_eve(event: PublishedEvent, zone: tzinfo) -> list[Alarm]:
    """Return the reminder in the evening before a day's work, where it is worth one; of moves an hour before theirs."""
    if event.group == MOVES:
        return [_alarm(event, "START", -RINGS_BEFORE)]
    rings = datetime.combine(event.start - timedelta(days=1), EVE, zone)
    if not event.reminder or rings < event.revised_at.astimezone(zone):
        return []
    begins = datetime.combine(event.start, event.begins or time(0), zone)
    # Of whole days a client counts by the clock; of hours in UTC it counts by instants.
    before = begins - rings if event.begins is None else begins.astimezone(UTC) - rings.astimezone(UTC)
    return [_alarm(event, "EVE", -before)]


def _of_span(event: PublishedEvent, zone: tzinfo) -> list[Alarm]:
    """Return the reminders on the eve of the opening and on the last day."""
    revised = event.revised_at.astimezone(zone)
    far = (event.start - revised.date()).days > REMIND_TENTATIVE_WITHIN_D
    if event.status == "CANCELLED" or (event.status == "TENTATIVE" and far):
        return []
    midnights = (("START", event.start), ("END", event.end + timedelta(days=1)))
    return [
        _alarm(event, related, RINGS_FROM_MIDNIGHT)
        for related, midnight in midnights
        if datetime.combine(midnight - timedelta(days=1), RINGS_AT, zone) >= revised
    ]


def _alarm(event: PublishedEvent, related: str, trigger: timedelta) -> Alarm:
    alarm = Alarm()
    alarm.add("uid", str(uuid5(event.uid, related)))
    alarm.add("action", "DISPLAY")
    alarm.add("description", _line(event.reminder or event.summary))
    alarm.add("trigger", trigger, parameters={"RELATED": related} if related == "END" else {})
    return alarm


def _text(text: str) -> str:
    """Return text without controls (RFC 5545 3.3.11) and without what some readers take for a line's end."""
    lines = text.replace("\r\n", "\n").translate({0x0D: "\n", 0x85: "\n", 0x2028: "\n", 0x2029: "\n"})
    return "".join(sign for sign in lines if sign in "\n\t" or unicodedata.category(sign) not in {"Cc", "Cs"})


def _line(text: str) -> str:
    return " ".join(_text(text).split())
