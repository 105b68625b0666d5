"""What commands print about weather: what a plan rests on, what was not believed, what dates came from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from calendar_core.app.shell.output import columns, say
from calendar_core.app.weather.status import series_of, status_lines
from calendar_core.storage.services import list_rejected
from calendar_core.wording.garden.weather_text import REJECTED, behind_lines

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from calendar_core.app.shell.session import Session
    from calendar_core.storage.services import RejectedValue


def status_view(session: Session) -> None:
    """Print source, age and cover of the weather, and the usual frosts."""
    for line in status_lines(session):
        say(line)


def rejected_values(session: Session) -> list[RejectedValue]:
    """Return the values up to today that were not believed, of the garden's own and its service's days."""
    series = series_of(session)
    with session.store.read() as connection:
        return [
            value
            for identity in series
            for value in list_rejected(connection, identity)
            if value.day <= session.today
        ]


def rejected_view(session: Session, found: Sequence[RejectedValue]) -> None:
    """Print values that were not believed, each with its reason."""
    if not series_of(session):
        say(session.style.say(REJECTED["no_days"]))
    elif not found:
        say(session.style.say(REJECTED["none"]))
    rows = [
        (f"{value.day} {value.hour}{' UTC' if value.hour else ''}".strip(), value.column,
         "" if value.value is None else f"{value.value:g}", value.reason)
        for value in found
    ]  # fmt: skip
    columns(rows, indent=0)


def snapshot_view(session: Session, on: date, data: Mapping[str, Any]) -> None:
    """Print what the dates published on a day were made from."""
    for line in behind_lines(session.speaker, on, data):
        say(line)
