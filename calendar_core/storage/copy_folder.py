"""The folder of daily copies beside a SQLite database, and the copy in it that would bring the garden back."""

from __future__ import annotations

import shlex
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


def folder_of(database: Path) -> Path:
    """Return the folder in which the copies of a database lie, each named by its day."""
    return database.parent / f"{database.stem} copies"


def copies_in(folder: Path) -> list[Path]:
    """Return the copies of a folder, the oldest first."""
    return sorted(folder.glob("????-??-??.db"))


def newest_whole(database: Path) -> Path | None:
    """Return the newest copy that is undamaged, None where there is none."""
    return next(filter(_is_whole, reversed(copies_in(folder_of(database)))), None)


def way_back(database: Path) -> str:
    """Return how the newest whole copy takes the place of a damaged or lost database, "" where there is none."""
    copy = newest_whole(database)
    if copy is None:
        return ""
    words = ["leafclock", "restore", str(copy), "--db", str(database)]
    command = shlex.join([*words, "--replace"] if database.exists() else words)
    return f"its newest whole copy comes back with: {command}"


def _is_whole(copy: Path) -> bool:
    try:
        with closing(sqlite3.connect(f"{copy.absolute().as_uri()}?mode=ro", uri=True)) as connection:
            (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
            (found,) = connection.execute("PRAGMA quick_check(1)").fetchone()
    except sqlite3.Error:
        return False
    return bool(tables) and found == "ok"
