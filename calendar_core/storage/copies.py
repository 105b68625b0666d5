"""Exact copies of a SQLite database: made while it is in use, checked, and put back."""

from __future__ import annotations

import re
import shutil
import sqlite3
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

from sqlalchemy import make_url
from sqlalchemy.exc import ArgumentError

from calendar_core.storage.copy_folder import copies_in, folder_of, way_back
from calendar_core.storage.engine import BESIDE, PRIVATE, close_to_others, open_store
from calendar_core.storage.errors import StoreError
from calendar_core.storage.schema.version import HEAD, VERSION_TABLE
from calendar_core.storage.transactions import BUSY_TIMEOUT_MS, remedy

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

PRIVATE_FOLDER = 0o700
BROKEN_OFF_S = 3600  # so long after its last byte a copy is not being written any more (estimate)


def sqlite_file(file_or_url: str | Path, instead: str) -> Path:
    """Return the file of a SQLite database; for another one refuse and name what does it instead."""
    if isinstance(file_or_url, Path) or "://" not in file_or_url:
        return Path(file_or_url).expanduser().resolve()
    with suppress(ArgumentError, ValueError):
        url = make_url(file_or_url)
        if url.get_backend_name() == "sqlite" and url.database:
            return Path(url.database).resolve()
        raise StoreError(f"{url.render_as_string()}: only SQLite files are copied here: use {instead}")
    raise StoreError("the database URL cannot be read: name a SQLite file")


def back_up(database: Path, copy: Path, *, replace: bool = False) -> None:
    """Copy a database to a file that only its owner may read; the file is there whole or not at all.

    Raises
    ------
    StoreError
        When it is no database of this program, or the file is there already and not to be replaced.
    """
    if not database.is_file():
        raise StoreError(f"{database}: there is no such database: name another with --db")
    if copy.is_dir():
        raise StoreError(f"{copy}: this is a folder: name a file in it")
    if copy.exists() and copy.samefile(database):
        raise StoreError(f"{copy}: this is the database itself: name another file")
    if copy.exists() and not replace:
        raise StoreError(f"{copy}: there is such a file already: name another, or add --replace")
    _revision(database)
    with _part_of(copy) as part:
        _copied(database, part)
        part.replace(copy)


def copy_of_day(database: Path, day: date, kept: int) -> None:
    """Copy a database into the folder beside it under the name of a day, and let go of all but the newest copies.

    Raises
    ------
    StoreError
        As `back_up` does; no copy has gone then.
    """
    folder = folder_of(database)
    with _told_of(folder):
        folder.mkdir(mode=PRIVATE_FOLDER, exist_ok=True)
    close_to_others(folder, PRIVATE_FOLDER)
    back_up(database, folder / f"{day.isoformat()}.db", replace=True)
    for old in copies_in(folder)[:-kept]:
        with suppress(OSError):
            old.unlink()


def restore(copy: Path, database: Path, *, replace: bool = False) -> Path | None:
    """Put a copy in a database's place, brought to this program's schema; return where the old one is kept.

    Raises
    ------
    StoreError
        When it is no copy of this program's, is damaged, or a database is there and not to be replaced.
    """
    if not copy.is_file():
        found = "this is no plain file" if copy.exists() else "there is no such file"
        raise StoreError(f"{copy}: {found}: name one made with 'leafclock backup'")
    if database.is_dir():
        raise StoreError(f"{database}: this is a folder: name a file in it")
    if database.exists() and copy.samefile(database):
        raise StoreError(f"{copy}: this is the database itself: name a copy of it")
    if database.exists() and not replace:
        raise StoreError(f"{database}: there is a database already: name another, or add --replace")
    _refuse_unknown(_revision(copy), copy)
    with _part_of(database) as part:
        _copied(copy, part)
        open_store(part).close()
        _settle(part)
        kept = _set_aside(database) if database.exists() else None
        part.replace(database)
    return kept


@contextmanager
def _part_of(file: Path) -> Iterator[Path]:
    """Give the name of an unfinished file beside ``file``, which goes away unless it is moved there."""
    part = file.parent / f".{file.name}.{uuid4().hex}"
    try:
        with _told_of(file):
            file.parent.mkdir(parents=True, exist_ok=True)
            part.touch(mode=PRIVATE)
            part.chmod(PRIVATE)  # whatever the umask
            _clear_broken_off(part, file.name)
            yield part
    finally:
        for ending in ("", *BESIDE):
            _beside(part, ending).unlink(missing_ok=True)


def _clear_broken_off(part: Path, name: str) -> None:
    """Remove unfinished files of this name, or of another day's, that whoever wrote them left long before ``part``."""
    any_day = re.sub(r"\d", r"\\d", re.escape(name))
    ours = re.compile(rf"\.{any_day}\.[0-9a-f]{{32}}({'|'.join(BESIDE)})?")
    now = part.stat().st_mtime  # by the clock of the disk, as theirs
    for other in part.parent.iterdir():
        with suppress(OSError):
            if ours.fullmatch(other.name) and now - other.stat().st_mtime > BROKEN_OFF_S:
                other.unlink()


@contextmanager
def _told_of(file: Path) -> Iterator[None]:
    """Turn what SQLite or the disk says into one line that names the file."""
    try:
        yield
    except sqlite3.Error as error:
        raise StoreError(
            f"{file}: {error}: {remedy(str(file), str(error)) or 'nothing was changed'}"
        ) from error
    except OSError as error:
        raise StoreError(f"{file}: cannot be written ({error.strerror}): choose another folder") from error


@contextmanager
def _opened(file: Path) -> Iterator[sqlite3.Connection]:
    """Open a file that is there; SQLite would make a missing one."""
    timeout_s = BUSY_TIMEOUT_MS / 1000
    address = f"{file.absolute().as_uri()}?mode=rw"
    with closing(sqlite3.connect(address, timeout=timeout_s, isolation_level=None, uri=True)) as connection:
        yield connection


def _copied(file: Path, part: Path) -> None:
    """Copy a database as it is at one moment, and check the copy."""
    with _told_of(file), _opened(file) as old, _opened(part) as new:
        old.execute("BEGIN")
        old.execute("SELECT count(*) FROM sqlite_master").fetchone()  # from here on it stands still
        old.backup(new)
        new.execute("PRAGMA journal_mode=DELETE")  # one file, with nothing beside it
        (found,) = new.execute("PRAGMA integrity_check(1)").fetchone()
        old.execute("ROLLBACK")
    if found != "ok":
        raise StoreError(f"{file}: is damaged ({found}): {way_back(file) or 'choose an older copy'}")


def _revision(file: Path) -> str:
    """Return the schema's revision of a database of this program."""
    try:
        with _opened(file) as connection:
            row = connection.execute(f"SELECT version_num FROM {VERSION_TABLE}").fetchone()  # noqa: S608 - a constant
    except sqlite3.Error as error:
        said = str(error)
        if "no such table" in said or ("not a database" in said and not way_back(file)):
            raise StoreError(f"{file}: is no database of this program ({said}): choose another") from error
        raise StoreError(f"{file}: {said}: {remedy(str(file), said) or 'choose another'}") from error
    return "" if row is None else str(row[0])


def _refuse_unknown(revision: str, file: Path) -> None:
    """Refuse a schema that this program cannot bring forward: they are numbered without gaps."""
    if re.fullmatch(r"\d{4}", revision) and revision > HEAD:
        raise StoreError(
            f"{file}: written by a newer version of this program (schema {revision}, here {HEAD}): update the program"
        )
    if not re.fullmatch(r"\d{4}", revision) or revision == "0000":
        raise StoreError(f"{file}: unknown schema '{revision}': choose a copy made with 'leafclock backup'")


def _settle(file: Path) -> None:
    """Bring everything into the one file. Raises sqlite3.Error, also where another program has it open."""
    with _opened(file) as connection:
        connection.execute("PRAGMA journal_mode=DELETE")
        connection.execute("BEGIN EXCLUSIVE")
        connection.execute("ROLLBACK")


def _set_aside(database: Path) -> Path:
    """Keep a copy of a database beside it, so that its place may be taken; what is damaged is kept as it is."""
    try:
        _settle(database)
    except sqlite3.DatabaseError as error:
        if "locked" in str(error):
            raise StoreError(f"{database}: another program has it open: end that first") from error
    kept = _free_name(database)
    for ending in ("", *BESIDE):
        if (file := _beside(database, ending)).exists():
            shutil.copy2(file, _beside(kept, ending))
            close_to_others(_beside(kept, ending), PRIVATE)
    for ending in BESIDE:  # SQLite would take them for the new one's
        _beside(database, ending).unlink(missing_ok=True)
    return kept


def _free_name(database: Path) -> Path:
    kept, number = _beside(database, ".before-restore"), 1
    while kept.exists():
        number += 1
        kept = _beside(database, f".before-restore-{number}")
    return kept


def _beside(file: Path, ending: str) -> Path:
    return file.with_name(file.name + ending)
