"""Which calendar a file holds: the one it was chosen to, or, of a file from before there were kinds, the windows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.storage import published
from calendar_core.storage.calendar_files import CalendarFile, get_file

if TYPE_CHECKING:
    from pathlib import Path

    from calendar_core.app.shell.session import Session


def chosen_file(session: Session, file: Path, asked: CalendarFile | None) -> tuple[CalendarFile, bool]:
    """Return the calendar of a file, and whether that is to be told: it was written before there were kinds."""
    if asked is not None:
        return asked, False
    path = str(file.resolve())
    with session.store.read() as connection:
        known = get_file(connection, session.garden.id, path)
        uids = {str(event.uid) for event in published.load(connection, session.garden.id)}
    if known is not None:
        return known, False
    if _holds(file, uids):
        return CalendarFile(path, "windows"), True
    return CalendarFile(path, "work"), False


def _holds(file: Path, uids: set[str]) -> bool:
    """Tell whether a file holds events of these ids."""
    try:
        lines = file.read_text("utf-8", errors="replace").splitlines()
    except OSError:
        return False
    return any(line.removeprefix("UID:") in uids for line in lines if line.startswith("UID:"))
