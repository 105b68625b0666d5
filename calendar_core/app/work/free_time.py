"""Free hours as they are typed: "Sat 9:00-12:00, Sun 2h, Mon-Fri 20min"."""

from __future__ import annotations

import re
from datetime import time
from typing import TYPE_CHECKING

from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import shortened

if TYPE_CHECKING:
    from collections.abc import Sequence

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
SUCH_AS = "'Sat 9:00-12:00, Sun 2h, Mon-Fri 20min'"
DAY_MINUTES = 24 * 60


def week_of(text: str) -> list[int]:
    """Return the free minutes of Monday to Sunday as typed; a day that is not named has none.

    >>> week_of("Sat 1.5h, Mon-Wed 18:00-18:20")
    [20, 20, 20, 0, 0, 90, 0]
    """
    return [minutes for minutes, _ in _week(text)]


def begins_of(text: str) -> list[time | None]:
    """Return when the free time of Monday to Sunday begins, None where only its length is typed."""
    return [begins for _, begins in _week(text)]


def typed_time(minutes: int, begins: time | None) -> str:
    """Return the free time of a day as it would be typed, "" for none.

    >>> typed_time(90, None), typed_time(20, None), typed_time(180, time(9)), typed_time(0, None)
    ('1h 30min', '20min', '9:00-12:00', '')
    """
    if not minutes:
        return ""
    if begins is not None:
        first = 60 * begins.hour + begins.minute
        return "-".join(f"{at // 60}:{at % 60:02d}" for at in (first, first + minutes))
    hours, rest = divmod(minutes, 60)
    return " ".join([*([f"{hours}h"] if hours else []), *([f"{rest}min"] if rest else [])])


def week_typed(days: Sequence[str]) -> str:
    """Return the times of Monday to Sunday, typed one by one, as a week is typed.

    >>> week_typed(["", "20min", "", "", "", "9:00-12:00", ""])
    'Tue 20min, Sat 9:00-12:00'
    >>> week_typed([""] * 7)
    'Mon 0'
    """
    named = zip(DAYS, days, strict=True)
    return ", ".join(f"{day[:3]} {text.strip()}" for day, text in named if text.strip()) or f"{DAYS[0][:3]} 0"


def _week(text: str) -> list[tuple[int, time | None]]:
    week: dict[int, tuple[int, time | None]] = {}
    for part in (part.strip() for part in text.split(",")):
        found = re.fullmatch(r"([^\W\d]+)(?:\s*-\s*([^\W\d]+))?\s+(.+)", part)
        if found is None:
            raise Refusal(f"{shortened(part)} is not days and a time; right would be such as {SUCH_AS}")
        first, last = _day(found[1]), _day(found[2] or found[1])
        free = _span(found[3]) or (minutes_of(found[3]), None)
        for day in ((first + i) % 7 for i in range((last - first) % 7 + 1)):
            if day in week:
                raise Refusal(f"{DAYS[day]} stands twice; right would be one time for each day")
            week[day] = free
    return [week.get(day, (0, None)) for day in range(7)]


def _span(text: str) -> tuple[int, time] | None:
    """Return the length and the beginning of hours such as 9:00-12:30, None for what is no hours of a day."""
    found = re.fullmatch(r"(\d{1,2})(?::(\d\d))?\s*(?:-|to)\s*(\d{1,2})(?::(\d\d))?", text.strip())
    if found is None:
        return None
    first, last = (60 * int(found[at]) + int(found[at + 1] or 0) for at in (1, 3))
    if max(int(found[2] or 0), int(found[4] or 0)) >= 60 or first >= DAY_MINUTES or last > DAY_MINUTES:
        raise Refusal(f"{shortened(text)} are no hours of a day; right would be such as 9:00-12:00")
    if last <= first:
        raise Refusal(f"{shortened(text)} end before they begin; right would be such as 9:00-12:00")
    return last - first, time(first // 60, first % 60)


def _day(name: str) -> int:
    """Return the weekday of a name or its beginning, of three signs or more."""
    for day, full in enumerate(DAYS):
        if len(name) >= 3 and full.lower().startswith(name.lower()):
            return day
    raise Refusal(
        f"{shortened(name)} is no day of the week; right would be one of {', '.join(d[:3] for d in DAYS)}"
    )


def minutes_of(text: str) -> int:
    """Return a time such as 3h, 1h 30min, 20min or 0 in minutes."""
    found = re.fullmatch(r"(?:(\d+(?:\.\d+)?)\s*h)?\s*(?:(\d+)\s*min)?|0", text.strip(), re.IGNORECASE)
    if found is None:
        raise Refusal(
            f"{shortened(text)} is not a time; right would be such as 3h, 1h 30min, 20min or 9:00-12:00"
        )
    minutes = round(float(found[1] or 0) * 60 + int(found[2] or 0))
    if minutes > DAY_MINUTES:
        raise Refusal(f"{shortened(text)} is longer than a day; right would be at most 24h")
    return minutes
