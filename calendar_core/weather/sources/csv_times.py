"""Times as thermometers write them, read as instants: with their offset, or as local times of a zone."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import tzinfo

    from calendar_core.weather.sources.csv_table import Reading

YEARS = range(1900, 2101)
"""Another year is a slip of the pen: no own thermometer kept hours before (common practice)."""

_OFFSET = r"(Z|UTC|GMT|[+\-−]\d{1,2}(?::?\d{2})?)"
_TIME = re.compile(
    r"(\d{1,4})([-/.]?)(\d{1,2})\2(\d{1,4})[T ]+(\d{1,2}):?(\d{2})(?::?(\d{2})(?:[.,]\d+)?)?\s*([AP]M)?\s*"
    + _OFFSET
    + "?",
    re.IGNORECASE,
)
_ZONE_IN_HEADER = re.compile(r"(?<![a-z])(?:utc|gmt)(?![a-z])\s*([+\-−]\d{1,2}(?::?\d{2})?)?", re.IGNORECASE)


class Written(NamedTuple):
    """A time as it stands in a line of the file."""

    line: int
    text: str
    match: re.Match[str]

    @property
    def style(self) -> tuple[bool, str, bool, bool]:
        """How it is written: year first, its sign, with an offset, with AM or PM."""
        return len(self.match[1]) == 4, self.match[2], self.match[9] is not None, self.match[8] is not None


def written(text: str, line: int, reading: Reading) -> Written | None:
    """Take a time apart; None, with the fault noted, where it is none."""
    match = _TIME.fullmatch(text)
    if match and (len(match[1]) == 4) != (len(match[4]) == 4) and (match[2] or len(match[1]) == 4):
        return Written(line, text, match)
    reading.add(f"time {text!r} is no time; right would be such as 2015-06-24 14:30", line)
    return None


def zone_of_header(name: str) -> tzinfo | None:
    """Return the zone that the head of a column tells, such as "Time, GMT-05:00" or "time_utc"."""
    match = _ZONE_IN_HEADER.search(name)
    return _offset(match[1] or "UTC") if match else None


def instants(times: Sequence[Written], zone: tzinfo, reading: Reading) -> list[datetime | None]:
    """Return the instants (UTC) of times in the order of their lines, None with the fault noted if there is none.

    Where clocks go back an hour comes twice: a time in it is the later one where it would else come before the
    line before it, or much sooner after it than the others do. The lines may run forward or backward in time.
    """
    order = _order(times, reading) if times and _one_style(times, reading) else None
    if order is None:
        return [None] * len(times)
    clock = [_clock(time, order, reading) for time in times]
    known = [moment for moment in clock if moment]
    backward = bool(known) and known[0] > known[-1]
    first = [_first(time, moment, zone, reading) for time, moment in zip(times, clock, strict=True)]
    if backward:
        return _unfolded(clock[::-1], first[::-1], zone)[::-1]
    return _unfolded(clock, first, zone)


def _one_style(times: Sequence[Written], reading: Reading) -> bool:
    first = times[0]
    other = next((time for time in times if time.style != first.style), None)
    if other:
        reading.add(
            f"times are written in two ways, {first.text!r} in line {first.line} and {other.text!r} in line "
            f"{other.line}; right would be one way throughout"
        )
    return other is None


def _order(times: Sequence[Written], reading: Reading) -> str | None:
    """Return "ymd", "dmy" or "mdy"; where 1/2/2015 leaves it open, the numbers over twelve tell."""
    year_first, sign, *_ = times[0].style
    if year_first or sign == ".":
        return "ymd" if year_first else "dmy"
    day_first = any(int(time.match[1]) > 12 for time in times)
    month_first = any(int(time.match[3]) > 12 for time in times)
    if day_first != month_first:
        return "dmy" if day_first else "mdy"
    why = "some have the day first and some the month" if day_first else "day and month cannot be told apart"
    reading.add(f"times such as {times[0].text!r}: {why}; right would be year-month-day")
    return None


def _clock(time: Written, order: str, reading: Reading) -> datetime | None:
    """Return what the clock showed, with its offset if that is written."""
    first, _, middle, last, hour, minute, second, half, offset = time.match.groups()
    part = dict(zip(order, (first, middle, last), strict=True))
    year, month, day = part["y"], part["m"], part["d"]
    try:
        clock = int(year), int(month), int(day), _hour(hour, half), int(minute), int(second or 0)
        moment = datetime(*clock, tzinfo=_offset(offset))
    except ValueError:
        moment = None
    if moment is None or moment.year not in YEARS:
        reading.add(f"time {time.text!r} does not exist; right would be such as 2015-06-24 14:30", time.line)
        return None
    return moment


def _hour(hour: str, half: str | None) -> int:
    if half is None:
        return int(hour)
    if not 1 <= int(hour) <= 12:
        raise ValueError
    return int(hour) % 12 + 12 * (half.upper() == "PM")


def _offset(text: str | None) -> tzinfo | None:
    if text is None:
        return None
    if text.upper() in ("Z", "UTC", "GMT"):
        return UTC
    digits = re.sub(r"\D", "", text).zfill(2)
    minutes = 60 * int(digits[:2] if len(digits) != 3 else digits[0]) + int(
        digits[-2:] if len(digits) > 2 else 0
    )
    return timezone(timedelta(minutes=minutes if text[0] == "+" else -minutes))


def _first(time: Written, moment: datetime | None, zone: tzinfo, reading: Reading) -> datetime | None:
    """Return the first instant at which the clock showed a time."""
    if moment is None or moment.tzinfo:
        return moment and moment.astimezone(UTC)
    found = moment.replace(tzinfo=zone).astimezone(UTC)
    if found.astimezone(zone).replace(tzinfo=None) == moment:
        return found
    right = "a time with its offset, or the zone that the clock kept"
    reading.add(f"{time.text} was skipped by the clocks of {zone}; right would be {right}", time.line)
    return None


def _unfolded(
    clock: Sequence[datetime | None], first: Sequence[datetime | None], zone: tzinfo
) -> list[datetime | None]:
    """Return the instants of times in order, each the second at which the clock showed it where that fits better."""
    known = [moment.timestamp() for moment in first if moment]
    step = timedelta(seconds=median(b - a for a, b in pairwise(known)) if len(known) > 1 else 0)
    out: list[datetime | None] = []
    before: datetime | None = None
    for moment, found in zip(clock, first, strict=True):
        instant = found
        if before and found and moment and not moment.tzinfo and found - before < step:
            later = moment.replace(tzinfo=zone, fold=1).astimezone(UTC)
            if later > before and (
                found <= before or abs(later - before - step) < abs(found - before - step)
            ):
                instant = later
        before = instant or before
        out.append(instant)
    return out
