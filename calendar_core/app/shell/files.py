"""Files written whole or not at all, and never in the place of something else."""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import dataclass
from errno import EDQUOT, ENOSPC
from pathlib import Path
from uuid import uuid4

from calendar_core.app.shell.errors import Refusal


@dataclass(frozen=True)
class FileKind:
    """What a file holds: how that is called, how its name may end, and the first bytes it is known by."""

    name: str
    endings: tuple[str, ...]
    begins: tuple[bytes, ...]


CALENDAR = FileKind("a calendar", (".ics",), (b"begin:vcalendar",))
DRAWING = FileKind("a drawing", (".svg",), (b"<?xml", b"<svg"))
PICTURE = FileKind("a picture", (".png",), (b"\x89png\r\n\x1a\n",))
PAGE = FileKind("a page", (".html", ".htm"), (b"<!doctype html", b"<html"))
DATABASE = FileKind(
    "a database",
    (".db", ".sqlite", ".sqlite3", "-wal", "-shm", "-journal", ".lock"),  # with what lies beside one in use
    (b"sqlite format 3\0",),
)
KINDS = (CALENDAR, DRAWING, PICTURE, PAGE, DATABASE)
"""All that is written to a file whose name a user gives; first bytes in small letters, as some are free in that.

Sources: RFC 5545 (calendar), the PNG specification, the HTML standard, and SQLite's "Database File Format".
"""
_LONGEST = max(len(begin) for kind in KINDS for begin in kind.begins)


def look_first(path: Path, kind: FileKind) -> None:
    """Refuse a place that a file of some kind must not take: a folder, a file of another kind or with such a name.

    A missing and an empty file are free, and one of the same kind is replaced. What is read is closed again, which
    would loosen SQLite's locks: look before a database is opened that may lie there. Of a link both names count.
    """
    for name in (path, _led_to(path)):
        named = next((other for other in KINDS if name.name.lower().endswith(other.endings)), kind)
        if named is not kind:
            right = f"right for {kind.name} would be one ending in {kind.endings[0]}"
            raise Refusal(f"{name}: is the name of {named.name}; {right}")
    try:
        holds = _first_bytes(path)
    except OSError as error:
        raise unwritable(path, error) from None
    if holds and not holds.startswith(kind.begins):
        found = next(
            (f"{other.name}, not" for other in KINDS if holds.startswith(other.begins)), "something else than"
        )
        raise Refusal(f"{path}: holds {found} {kind.name}; right would be a file that is not there yet")


def look_for_chart(path: Path) -> FileKind:
    """Return what a chart is written as, by the file's ending; refuse a place it may not take."""
    kind = next((kind for kind in (DRAWING, PICTURE) if path.suffix.lower() in kind.endings), None)
    if kind is None:
        raise Refusal(f"{path}: right would be a file ending in .svg or .png")
    look_first(path, kind)
    return kind


def _led_to(path: Path) -> Path:
    """Return where links lead to at last; one that leads nowhere, as in a ring, is its own place."""
    return Path(os.path.realpath(path))


def _first_bytes(path: Path) -> bytes:
    """Return how a file begins, in small letters; nothing where there is none."""
    if path.is_dir():
        raise Refusal(f"{path}: is a folder; right would be a file in it")
    if not path.exists():
        return b""
    if not path.is_file():
        raise Refusal(f"{path}: is no file that could be replaced; right would be one that is not there yet")
    with path.open("rb") as file:
        return file.read(_LONGEST).lower()


def write_whole(path: Path, data: bytes, kind: FileKind) -> None:
    """Write a file beside its place and move it there, if it may take it. A link stays: others read where it leads to."""
    look_first(path, kind)
    place = _led_to(path)
    part = place.parent / f".{place.name}.{uuid4().hex}"
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        part.write_bytes(data)
        part.replace(place)
    except OSError as error:
        with suppress(OSError):
            part.unlink()
        raise unwritable(path, error) from None


def unwritable(path: Path, error: OSError, right: str = "a file in a folder you may write to") -> Refusal:
    """Return the refusal of what the disk did not take."""
    wanted = "some space on the disk" if error.errno in (ENOSPC, EDQUOT) else right
    return Refusal(f"{path}: cannot be written ({error.strerror}); right would be {wanted}")
