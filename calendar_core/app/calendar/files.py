"""Which calendar a file holds: the one it was chosen to, or, of a file from before there were kinds, the windows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.shell.errors import Refusal
from calendar_core.planning.events import kind_named
from calendar_core.publishing.feed import HOLDS
from calendar_core.storage import published
from calendar_core.storage.calendar_files import CalendarFile, get_file, other_garden

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path
    from uuid import UUID

    from calendar_core.app.shell.session import Session

HELD = f"{HOLDS}:"


def chosen_file(session: Session, file: Path, asked: CalendarFile | None) -> tuple[CalendarFile, bool]:
    """Return the calendar of a file, and whether that is to be told: it was written before there were kinds."""
    path = str(file.resolve())
    with session.store.read() as connection:
        known = get_file(connection, session.garden.id, path)
        other = other_garden(connection, session.garden.id, path)
        uids = {str(event.uid) for event in published.load(connection, session.garden.id)}
    if other and file.exists():
        raise Refusal(f"{file}: holds the calendar of {other}; right would be another file")
    if asked is not None or known is not None:
        return asked or known or CalendarFile(path, "work"), False
    lines = _lines(file)
    held = next((line.removeprefix(HELD) for line in lines if line.startswith(HELD)), "")
    word, _, whose = held.partition(" ")
    kind = kind_named(word)
    if kind is not None:  # it was moved, or its garden came from another database
        return CalendarFile(path, kind, _tree_held(session, file, whose) if kind == "tree" else None), False
    if not held and uids.intersection(_uids(lines)):
        return CalendarFile(path, "windows"), True
    return CalendarFile(path, "work"), False


def _tree_held(session: Session, file: Path, whose: str) -> UUID:
    """Return the tree whose season a file says it holds. Raises Refusal where that is none of the garden's."""
    found = next((tree.id for tree in session.every_tree if str(tree.id) == whose), None)
    if found is None:
        right = "right would be another file, or --tree with a label"
        raise Refusal(f"{file}: says that it holds the season of a tree that is not in this garden; {right}")
    return found


def _lines(file: Path) -> list[str]:
    try:
        return file.read_text("utf-8", errors="replace").splitlines()
    except OSError:
        return []


def _uids(lines: Sequence[str]) -> set[str]:
    return {line.removeprefix("UID:") for line in lines if line.startswith("UID:")}
