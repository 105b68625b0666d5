"""Words about the calendar file itself; its events are written by event_text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.wording.plan.event_text import REMINDER_NOTE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from calendar_core.planning.events import CalendarKind
    from calendar_core.wording.style import Style

CALENDAR: dict[str, str] = {
    "written": "{file}, {kind}: {events}; {changes}.",
    "nothing": "nothing changed",
    "reminders": "Reminders of subscribed calendars may fail or come late: look at the plan before a window's last day.",
    "about": "{about} of {garden}. {note}",
    "about_credit": "{about} of {garden}. {note} Weather: {credit}.",
    "stays": "It stays the calendar of windows that it was. For the work by days: {program} calendar {file} --kind work",
}

KIND_NAMES: dict[CalendarKind, str] = {
    "work": "the work by days",
    "windows": "the windows of the season",
    "moves": "warnings and moves by the hour",
    "tree": "the season of one tree",
    "helper": "the days away",
}
"""What a calendar tells, by its kind."""

ABOUT: dict[CalendarKind, str] = {
    "work": "What to do on which day for the trees",
    "windows": "Care windows of the trees",
    "moves": "Warnings and moves by the hour for the trees",
    "tree": "Care windows of one tree",
    "helper": "Watering and looks while the grower is away, for the trees",
}


def written(style: Style, file: object, kind: CalendarKind, events: int, changes: Mapping[str, int]) -> str:
    """Return what a file holds, how many events, and what changed for subscribers."""
    told = ", ".join(f"{n} {style.translate(change)}" for change, n in changes.items())
    return style.say(
        CALENDAR["written"],
        file=file,
        kind=style.translate(KIND_NAMES[kind]),
        events=style.number_of(events, "event", "events"),
        changes=told or style.say(CALENDAR["nothing"]),
    )


def stays(style: Style, file: object, program: str) -> str:
    """Return that a file from before there were kinds keeps its own, and how another is chosen."""
    return style.say(CALENDAR["stays"], file=file, program=program)


def about(style: Style, garden: str, credit: str, kind: CalendarKind = "windows") -> str:
    """Return what a calendar is about, and how far its reminders are to be trusted."""
    note, what = style.say(REMINDER_NOTE), style.translate(ABOUT[kind])
    if credit:
        return style.say(CALENDAR["about_credit"], about=what, garden=garden, note=note, credit=credit)
    return style.say(CALENDAR["about"], about=what, garden=garden, note=note)
