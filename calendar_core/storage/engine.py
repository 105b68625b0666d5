"""Opening a database: a SQLite file or a PostgreSQL URL, brought to this program's schema."""

from __future__ import annotations

import os
import sqlite3
import stat
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import URL, Connection, Engine, column, inspect, make_url, select, table
from sqlalchemy.exc import ArgumentError

from calendar_core.storage.errors import StoreError
from calendar_core.storage.schema.version import HEAD, VERSION_TABLE
from calendar_core.storage.transactions import WRITES, in_one_line, make_engine

if TYPE_CHECKING:
    from collections.abc import Iterator


PRIVATE = 0o600  # of a database, which holds where the garden is and the keys of its channels
BESIDE = ("-wal", "-shm", "-journal")  # what SQLite keeps beside a database that is in use


@dataclass(frozen=True, slots=True)
class Store:
    """An open database. ``name`` is the file or URL, without password, for messages."""

    engine: Engine
    name: str

    @contextmanager
    def begin(self) -> Iterator[Connection]:
        """Give the one write transaction; it is rolled back whole if the block raises.

        Raises
        ------
        StoreError
            When the database refuses, in one line.
        """
        with in_one_line(self.name), self.engine.connect() as connection:
            connection.execution_options(**{WRITES: True})
            with connection.begin():
                yield connection

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Give a transaction that sees one moment of the database and cannot write."""
        with in_one_line(self.name), self.engine.connect() as connection:
            if self.engine.dialect.name == "postgresql":
                connection.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
            with connection.begin():
                yield connection

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()


def open_store(file_or_url: str | Path) -> Store:
    """Open a database; make the file and its folder, or migrate an older schema, where needed.

    Parameters
    ----------
    file_or_url : str or Path
        A SQLite file, or a URL ``sqlite:///FILE`` or ``postgresql://USER@HOST/NAME``.

    Raises
    ------
    StoreError
        When it cannot be opened, belongs to another program or to a newer version of this one.
    """
    url = _url(file_or_url)
    name = _prepare_file(url) if url.get_backend_name() == "sqlite" else url.render_as_string()
    store = Store(make_engine(url), name)
    try:
        _bring_to_head(store)
    except BaseException:
        store.close()
        raise
    return store


def _url(file_or_url: str | Path) -> URL:
    """Return the URL with the driver this program brings."""
    if isinstance(file_or_url, Path) or "://" not in file_or_url:
        return URL.create("sqlite", database=str(Path(file_or_url).expanduser()))
    try:
        url = make_url(file_or_url)
    except (ArgumentError, ValueError) as error:
        raise StoreError("the database URL cannot be read: write postgresql://USER@HOST/NAME") from error
    if url.get_backend_name() in {"postgresql", "postgres"}:
        return url.set(drivername="postgresql+psycopg")
    if url.get_backend_name() == "sqlite" and url.database not in {None, "", ":memory:"}:
        return url.set(drivername="sqlite")
    raise StoreError(f"{url.render_as_string()}: use a SQLite file or postgresql://USER@HOST/NAME")


def _prepare_file(url: URL) -> str:
    """Make the folder of a SQLite file, and the file for its owner alone; return the file's name."""
    file = Path(str(url.database))
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(f"{file}: its folder cannot be made ({error.strerror}): choose another") from error
    if file.is_dir():
        raise StoreError(f"{file}: this is a folder: name a file in it")
    if file.exists() and not file.is_file():
        raise StoreError(f"{file}: this is a pipe or a device: name a file")
    _make_private(file.resolve())
    return str(file)


def _make_private(file: Path) -> None:
    """Make a file that is not there; close one that everybody may open, but not one that its owner shares with a group.

    What cannot be made or closed is left to SQLite, which says why. A file that is there is not opened: closing it would
    loosen the locks that SQLite has on it.
    """
    with suppress(OSError):
        os.close(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, PRIVATE))
        file.chmod(PRIVATE)  # whatever the umask
    for each in (file, *(file.with_name(file.name + ending) for ending in (*BESIDE, ".lock"))):
        close_to_others(each, PRIVATE)


def close_to_others(path: Path, mode: int) -> None:
    """Give a file or folder of this user a mode, if everybody may read, write or enter it."""
    with suppress(OSError):
        found = path.stat()
        if found.st_uid == os.geteuid() and stat.S_IMODE(found.st_mode) & stat.S_IRWXO:
            path.chmod(mode)


def _bring_to_head(store: Store) -> None:
    with store.read() as connection:
        stored = _revision(connection, store.name)
    if stored is not None and stored > HEAD:
        raise StoreError(
            f"{store.name}: written by a newer version of this program (schema {stored}, here {HEAD}): "
            "update the program"
        )
    if store.engine.dialect.name == "sqlite":
        _use_write_ahead_log(store)
    if stored != HEAD:
        from calendar_core.storage.schema import migrate  # noqa: PLC0415 - Alembic takes half a second to import

        with in_one_line(store.name):
            migrate.upgrade(store.engine)


def _revision(connection: Connection, name: str) -> str | None:
    """Return the schema's revision, None for an empty database."""
    tables = inspect(connection).get_table_names()
    if VERSION_TABLE in tables:
        return connection.execute(select(column("version_num")).select_from(table(VERSION_TABLE))).scalar()
    if tables:
        raise StoreError(
            f"{name}: another program's database (table {min(tables)}): choose a new or empty one"
        )
    return None


def _use_write_ahead_log(store: Store) -> None:
    """Let readers and the writer work at the same time. The file remembers it; a restored copy may not."""
    with in_one_line(store.name), store.engine.connect() as connection:
        dbapi_connection: Any = connection.connection.dbapi_connection
        # Refused, whatever the timeout, while another process opens the same file: one of the two, or the
        # next opening, makes the change, and without it everything works, only not side by side.
        with suppress(sqlite3.OperationalError):
            dbapi_connection.execute("PRAGMA journal_mode=WAL")
