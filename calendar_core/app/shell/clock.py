"""The one clock. Everything else is told the day and the moment."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo


@dataclass(frozen=True)
class Clock:
    """The garden's local day and the present moment (aware UTC, whole seconds)."""

    today: date
    now: datetime


def utc_now() -> datetime:
    """Return the present moment, aware UTC, whole seconds."""
    return datetime.now(UTC).replace(microsecond=0)  # noqa: TID251 - the one clock


def clock(zone: str, today: date | None = None) -> Clock:
    """Return the clock of a garden; with another day than the real one given it stands at noon of that day."""
    now = utc_now()
    real = now.astimezone(ZoneInfo(zone)).date()
    if today is None or today == real:
        return Clock(real, now)
    return Clock(today, datetime.combine(today, time(12), ZoneInfo(zone)).astimezone(UTC))


def with_time(text: str) -> str:
    """Return a line of a journal, with the moment on this machine's clock."""
    return f"{utc_now().astimezone():%Y-%m-%d %H:%M:%S} {text}"
