"""Words about the calendar file itself; its events are written by event_text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.wording.plan.event_text import REMINDER_NOTE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from calendar_core.wording.style import Style

CALENDAR: dict[str, str] = {
    "written": "{file}: {n} events of the season; {changes}.",
    "nothing": "nothing changed",
    "reminders": "Reminders of subscribed calendars may fail or come late: look at the plan before a window's last day.",
    "about": "Care windows of the trees of {garden}. {note}",
    "about_credit": "Care windows of the trees of {garden}. {note} Weather: {credit}.",
}


def written(style: Style, file: object, events: int, changes: Mapping[str, int]) -> str:
    """Return how many events a file holds, and what changed for subscribers."""
    told = ", ".join(f"{n} {style.translate(kind)}" for kind, n in changes.items())
    return style.say(CALENDAR["written"], file=file, n=events, changes=told or style.say(CALENDAR["nothing"]))


def about(style: Style, garden: str, credit: str) -> str:
    """Return what a calendar is about, and how far its reminders are to be trusted."""
    note = style.say(REMINDER_NOTE)
    if credit:
        return style.say(CALENDAR["about_credit"], garden=garden, note=note, credit=credit)
    return style.say(CALENDAR["about"], garden=garden, note=note)
