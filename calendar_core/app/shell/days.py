"""Days and times of day as they are typed, and which can be."""

from __future__ import annotations

from contextlib import suppress
from datetime import date, datetime, time

from calendar_core.garden.limits import FIRST, LAST


def day_of(value: object) -> date:
    """Return a day written as 2015-06-24, or given as a date.

    Raises
    ------
    ValueError
        With what would be right, in words fit to be shown.

    Examples
    --------
    >>> day_of("2015-06-24")
    datetime.date(2015, 6, 24)
    >>> day_of("2015-02-30")
    Traceback (most recent call last):
    ...
    ValueError: '2015-02-30' is not a day; right would be year-month-day, such as 2015-06-24
    """
    day = value
    if isinstance(value, str):
        with suppress(ValueError):
            day = date.fromisoformat(value)
    if type(day) is not date:  # a datetime is more than a day
        shown = f"'{value}'" if isinstance(value, str) else str(value)
        raise ValueError(f"{shown} is not a day; right would be year-month-day, such as 2015-06-24")
    if not FIRST <= day <= LAST:
        raise ValueError(f"{day} is out of reach; right would be a day from {FIRST.year} to {LAST.year}")
    return day


def time_of(text: str) -> time:
    """Return a time of day written as 9:30 or 09:30.

    Raises
    ------
    ValueError
        With what would be right, in words fit to be shown.

    Examples
    --------
    >>> time_of("9:30"), time_of("22:00")
    (datetime.time(9, 30), datetime.time(22, 0))
    """
    with suppress(ValueError):
        return datetime.strptime(text.strip(), "%H:%M").time()  # noqa: DTZ007 - the garden's clock
    raise ValueError(f"'{text}' is not a time; right would be hours and minutes, such as 9:30")


def ahead(day: date, today: date) -> str:
    """Return why a day after today is refused: what happened is written down, not what will."""
    return f"{day} lies ahead; right would be a day up to today, {today}"
