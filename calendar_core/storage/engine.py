"""Opening a database: a SQLite file or a PostgreSQL URL, brought to this program's schema.

Both databases give the same two transactions: one writer at a time, who sees the latest state, and
readers who see one moment and cannot write.
"""

from __future__ import annotations

import json
import sqlite3
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import URL, Connection, Engine, column, create_engine, event, inspect, make_url, select, table
from sqlalchemy.exc import ArgumentError, DBAPIError

from calendar_core.storage.errors import StoreError
from calendar_core.storage.tables import UnfitValueError

if TYPE_CHECKING:
    from collections.abc import Iterator

HEAD = "0010"  # the newest migration; four digits, so that a higher number is a newer program's
VERSION_TABLE = "leafclock_version"
WRITES = "leafclock_writes"  # execution option of a connection whose transaction writes
BUSY_TIMEOUT_MS = 5000  # how long a writer waits for another one; estimate
WRITER_LOCK = 0x1EAFC10C  # any number that no other program uses in the same PostgreSQL database

_REMEDIES = {
    "Connection refused": "start the database server, or name the right host and port",
    "failed to resolve host": "name the right host",
    "database is locked": "another program is writing to it; try again when it has finished",
    "lock timeout": "another program is writing to it; try again when it has finished",
    "file is not a database": "choose a database of this program, or a file that does not exist yet",
    "unable to open database file": "choose a file in a folder that you may write to",
    "readonly database": "make the file and its folder writable",
    "disk is full": "free some space and try again",
}


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
    store = Store(_engine(url), name)
    try:
        _bring_to_head(store)
    except BaseException:
        store.close()
        raise
    return store


@contextmanager
def in_one_line(name: str) -> Iterator[None]:
    """Turn what the database says into a StoreError that names the database and, where known, the remedy."""
    try:
        yield
    except DBAPIError as error:
        said = str(error.orig).strip().partition("\n")[0]
        remedy = next((remedy for words, remedy in _REMEDIES.items() if words in said), None)
        raise StoreError(f"{name}: {said}" + (f": {remedy}" if remedy else "")) from error


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
    """Make the folder of a SQLite file; return the file's name."""
    file = Path(str(url.database))
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(f"{file}: its folder cannot be made ({error.strerror}): choose another") from error
    if file.is_dir():
        raise StoreError(f"{file}: this is a folder: name a file in it")
    return str(file)


def _engine(url: URL) -> Engine:
    try:
        engine = create_engine(url, json_serializer=_to_json)
    except ModuleNotFoundError as error:
        raise StoreError("PostgreSQL needs the driver: pip install 'leafclock[postgresql]'") from error
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    else:
        event.listen(engine, "begin", _begin_postgresql)
    return engine


def _to_json(value: object) -> str:
    """Return strict JSON: PostgreSQL refuses NaN, so SQLite must not take it either."""
    try:
        return json.dumps(value, allow_nan=False)
    except (TypeError, ValueError) as error:
        raise UnfitValueError(f"{value!r} cannot be stored: texts, finite numbers and lists can") from error


def _set_up_sqlite(dbapi_connection: Any, _record: object) -> None:
    dbapi_connection.isolation_level = None  # the driver would otherwise begin transactions of its own
    dbapi_connection.execute(f"PRAGMA busy_timeout={BUSY_TIMEOUT_MS}")
    dbapi_connection.execute("PRAGMA foreign_keys=ON")
    dbapi_connection.execute("PRAGMA synchronous=NORMAL")  # safe with a write-ahead log


def _begin_sqlite(connection: Connection) -> None:
    # A deferred transaction that reads and then writes fails at once when another one wrote in between;
    # an immediate one waits for its turn before it reads.
    writes = connection.get_execution_options().get(WRITES, False)
    connection.exec_driver_sql(f"PRAGMA query_only={'OFF' if writes else 'ON'}")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _begin_postgresql(connection: Connection) -> None:
    if connection.get_execution_options().get(WRITES, False):
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {BUSY_TIMEOUT_MS}")
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITER_LOCK})")


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
        from calendar_core.storage import migrate  # noqa: PLC0415 - Alembic takes half a second to import

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
    with store.engine.connect() as connection:
        dbapi_connection: Any = connection.connection.dbapi_connection
        # Refused, whatever the timeout, while another process opens the same file: one of the two, or the
        # next opening, makes the change, and without it everything works, only not side by side.
        with suppress(sqlite3.OperationalError):
            dbapi_connection.execute("PRAGMA journal_mode=WAL")
