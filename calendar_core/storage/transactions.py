"""The two transactions that SQLite and PostgreSQL give alike.

One writer at a time, who sees the latest state, and readers who see one moment and cannot write.
"""

from __future__ import annotations

import json
import sqlite3
from contextlib import contextmanager
from pathlib import Path
from shutil import disk_usage
from typing import TYPE_CHECKING, Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError, OperationalError

from calendar_core.storage.copy_folder import way_back
from calendar_core.storage.errors import SILENT, NotNowError, StoreError, UnfitValueError, UnreadableError

if TYPE_CHECKING:
    from collections.abc import Iterator

WRITES = "leafclock_writes"  # execution option of a connection whose transaction writes
BUSY_TIMEOUT_MS = 5000  # how long a writer waits for another one; estimate
WRITER_LOCK = 0x1EAFC10C  # any number that no other program uses in the same PostgreSQL database

_REMEDIES = {
    "Connection refused": "start the database server, or name the right host and port",
    SILENT: "see that it runs and can be reached",
    "failed to resolve host": "name the right host",
    "database is locked": "another program is writing to it; try again when it has finished",
    "lock timeout": "another program is writing to it; try again when it has finished",
    "unable to open database file": "choose a file in a folder that you may write to",
    "readonly database": "make the file and its folder writable",
    "disk is full": "free some space and try again; what was stored before is whole",
    "disk I/O error": "the disk did not take it; see whether it is over a quota, or failing",
}
_FULL = "the disk is full; free some space and try again; what was stored before is whole"
_TOO_LITTLE = (
    100_000  # bytes: with less SQLite cannot make what it keeps beside a database, and says "disk I/O error"
)
_NO_COPY = "no whole copy lies beside it; look for one made with 'leafclock backup'"
_NO_DATABASE = "file is not a database"
_DAMAGED = (_NO_DATABASE, "malformed")


@contextmanager
def in_one_line(name: str) -> Iterator[None]:
    """Turn what the database says into a StoreError that names the database and, where known, the remedy."""
    try:
        yield
    except (DBAPIError, sqlite3.Error) as error:
        said = str(getattr(error, "orig", error)).strip().partition("\n")[0]
        if "timeout expired" in said:  # of a line that could not be opened
            said = SILENT
        right = remedy(name, said)
        kind = NotNowError if isinstance(error, (OperationalError, sqlite3.OperationalError)) else StoreError
        raise kind(f"{name}: {said}" + (f": {right}" if right else "")) from error
    except UnreadableError as error:
        raise StoreError(f"{name}: {error}: {way_back(Path(name)) or _NO_COPY}") from error


def remedy(name: str, said: str) -> str:
    """Return what would be right where a database said something, "" where it is not known."""
    if "disk I/O error" in said and _is_full(Path(name).parent):
        return _FULL
    if not any(words in said for words in _DAMAGED):
        return next((right for words, right in _REMEDIES.items() if words in said), "")
    if back := way_back(Path(name)):
        return back
    if _NO_DATABASE in said:
        return "choose a database of this program, or a file that does not exist yet"
    return _NO_COPY


def _is_full(folder: Path) -> bool:
    try:
        return disk_usage(folder).free < _TOO_LITTLE
    except OSError:
        return False


def make_engine(url: URL) -> Engine:
    """Return the engine of a database, which begins its transactions as this room wants them."""
    try:
        engine = create_engine(url, json_serializer=_to_json)
    except ModuleNotFoundError as error:
        raise StoreError("PostgreSQL needs the driver: pip install 'leafclock[postgresql]'") from error
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    else:
        from calendar_core.storage.postgresql_line import watch_line  # noqa: PLC0415 - it needs the driver

        watch_line(engine)
        event.listen(engine, "begin", _begin_postgresql)
    event.listen(engine, "before_cursor_execute", _without_nul, retval=True)
    return engine


def _without_nul(
    _connection: Connection,
    _cursor: Any,
    statement: str,
    values: Any,
    _context: Any,
    _many: bool,  # noqa: FBT001
) -> tuple[str, Any]:
    """Leave out NUL, which PostgreSQL does not store and nobody sees, from every text of a statement's values."""
    return statement, _cleaned(values) if _holds_nul(values) else values


def _holds_nul(values: Any) -> bool:
    if isinstance(values, str):
        return "\0" in values
    if isinstance(values, list | tuple | dict):
        return any(map(_holds_nul, values.values() if isinstance(values, dict) else values))
    return False


def _cleaned(values: Any) -> Any:
    if isinstance(values, str):
        return values.replace("\0", "")
    if isinstance(values, dict):
        return {name: _cleaned(value) for name, value in values.items()}
    return type(values)(map(_cleaned, values)) if isinstance(values, list | tuple) else values


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
