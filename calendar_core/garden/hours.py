"""The grower's free time: minutes on each day, as a fold over the log."""

from __future__ import annotations

from datetime import date, time, timedelta
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.state import valid_entries

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from typing import Any

    from numpy.typing import NDArray

    from calendar_core.garden.model import Entry

Week = tuple[int, int, int, int, int, int, int]

USUAL_WEEK: Week = (20, 20, 20, 20, 20, 120, 120)
"""Free minutes of Monday to Sunday where none are written down (estimate: a short round on working days,
two hours on each day of the weekend)."""

Away = tuple[date, date]


def weekly(entries: Iterable[Entry], on: date) -> Week | None:
    """Return the free minutes of Monday to Sunday last written down by a day, None where none are."""
    written = _written(entries, on)
    if written is None:
        return None
    monday, tuesday, wednesday, thursday, friday, saturday, sunday = map(int, written["weekly"])
    return monday, tuesday, wednesday, thursday, friday, saturday, sunday


def begins(entries: Iterable[Entry], on: date) -> tuple[time | None, ...]:
    """Return by the garden's clock when the free time of Monday to Sunday begins, None where that is not known."""
    written = _written(entries, on) or {}
    return tuple(time.fromisoformat(text) if text else None for text in written.get("begins", [None] * 7))


def _written(entries: Iterable[Entry], on: date) -> Mapping[str, Any] | None:
    """Return what was last written of the free hours by a day."""
    written = [entry.data for entry in valid_entries(entries, on) if entry.kind == "hours"]
    return written[-1] if written else None


def absences(entries: Iterable[Entry], on: date) -> tuple[Away, ...]:
    """Return the spans away known by a day, first and last day included, in order."""
    spans = {
        (date.fromisoformat(str(entry.data["from"])), date.fromisoformat(str(entry.data["until"])))
        for entry in valid_entries(entries, on)
        if entry.kind == "away"
    }
    return tuple(sorted(spans))


def free_minutes(entries: Iterable[Entry], first_day: date, n_days: int) -> NDArray[np.int64]:
    """Return the free minutes (n_days,) from a day on, by what is known on it: none on days away.

    Where no hours are written down they are those of `USUAL_WEEK`.
    """
    log = tuple(entries)
    week = weekly(log, first_day) or USUAL_WEEK
    away = absences(log, first_day)
    days = [first_day + timedelta(days=i) for i in range(n_days)]
    return np.array(
        [0 if any(a <= day <= z for a, z in away) else week[day.weekday()] for day in days], dtype=np.int64
    )
