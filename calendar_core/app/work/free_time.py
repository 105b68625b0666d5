"""Free hours as they are typed: "Sat 3h, Sun 2h, Mon-Fri 20min"."""

from __future__ import annotations

import re

from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import shortened

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
SUCH_AS = "'Sat 3h, Sun 2h, Mon-Fri 20min'"
DAY_MINUTES = 24 * 60


def week_of(text: str) -> list[int]:
    """Return the free minutes of Monday to Sunday as typed; a day that is not named has none.

    >>> week_of("Sat 1.5h, Mon-Wed 20min")
    [20, 20, 20, 0, 0, 90, 0]
    """
    week: dict[int, int] = {}
    for part in (part.strip() for part in text.split(",")):
        found = re.fullmatch(r"([^\W\d]+)(?:\s*-\s*([^\W\d]+))?\s+(.+)", part)
        if found is None:
            raise Refusal(f"{shortened(part)} is not days and a time; right would be such as {SUCH_AS}")
        first, last = _day(found[1]), _day(found[2] or found[1])
        minutes = minutes_of(found[3])
        for day in ((first + i) % 7 for i in range((last - first) % 7 + 1)):
            if day in week:
                raise Refusal(f"{DAYS[day]} stands twice; right would be one time for each day")
            week[day] = minutes
    return [week.get(day, 0) for day in range(7)]


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
        raise Refusal(f"{shortened(text)} is not a time; right would be such as 3h, 1h 30min or 20min")
    minutes = round(float(found[1] or 0) * 60 + int(found[2] or 0))
    if minutes > DAY_MINUTES:
        raise Refusal(f"{shortened(text)} is longer than a day; right would be at most 24h")
    return minutes
