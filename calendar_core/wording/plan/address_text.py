"""Words about addresses and places of calendars that are subscribed to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.wording.plan.calendar_text import KIND_NAMES

if TYPE_CHECKING:
    from datetime import date

    from calendar_core.planning.events import CalendarKind
    from calendar_core.wording.style import Style

ADDRESSES: dict[str, str] = {
    "made": "Address {name}: {calendar}. It is shown this once; whoever knows it can read this calendar.",
    "path": "Write it behind where phones reach your service, such as https://HOST; or name that with --at, and the whole"
    " address is shown with its code.",
    "links": "The second opens the calendar program of most phones; the code below holds the first.",
    "none": "No address yet. One for your phone: leafclock address add work --label phone",
    "revoked": "Address {name} is revoked: it is not answered any more.",
    "used": "last read on {day}",
    "unused": "never read",
    "gone": "revoked on {day}",
}

PLACES: dict[str, str] = {
    "written": "Written to {place}: {files}. leafclock watch, or serve, writes them again whenever they change.",
    "stopped": "Nothing more is written to {place}; what is there stays.",
    "none": "The calendars are written nowhere. To do so whenever they change: leafclock calendar --to FOLDER|URL",
    "well": "written",
    "failing": "not written: {why}",
}


def address_words(
    style: Style, kind: CalendarKind, tree: str, label: str, used: date | None, revoked: date | None
) -> str:
    """Return what an address is of, whose, and when it was read last."""
    of = style.translate(KIND_NAMES[kind])
    if revoked is not None:
        state = style.say(ADDRESSES["gone"], day=style.day(revoked))
    elif used is not None:
        state = style.say(ADDRESSES["used"], day=style.day(used))
    else:
        state = style.say(ADDRESSES["unused"])
    return ", ".join(part for part in (of, tree, label, state) if part)
