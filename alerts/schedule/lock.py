"""The lock of the one process that runs a database's jobs; it goes with the process, however that ends."""

from __future__ import annotations

import fcntl
import os
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError

from calendar_core.storage.copy_folder import way_back
from calendar_core.storage.errors import SILENT, StoreError
from calendar_core.storage.transactions import in_one_line, remedy

if TYPE_CHECKING:
    from calendar_core.storage.engine import Store

TURN_S = (
    5  # a line waits so long for another one that asks for the lock (estimate: it is asked in milliseconds)
)
PATIENCE_S = 10  # and the one that asks so long for the server's answer (estimate)
IDLE_S = 600
"""The server lets the lock go after so long without a word: behind a line that fell silent, which it cannot know, it
would hold it for ever. It is asked for every minute (estimate: no job keeps all lines busy for so long)."""
RUNNER_LOCK = 0x1EAFC10D  # any number that no other program uses in the same PostgreSQL database


class ProcessLock:
    """Held by at most one process: a file beside a SQLite database, an advisory lock on PostgreSQL.

    PostgreSQL forgets it with the connection, so a pooler that hands connections around must not stand between.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._threads = Lock()
        self._file: int | None = None
        self._found: tuple[int, int] | None = None  # the database's device and number on it
        self._connection: Connection | None = None

    def hold(self) -> bool:
        """Take the lock, or make sure that it is still held; False while another process has it.

        Raises
        ------
        StoreError
            When the database cannot be asked.
        """
        if not self._threads.acquire(timeout=TURN_S):
            raise StoreError(f"{self._store.name}: {SILENT}: {remedy(self._store.name, SILENT)}")
        try:
            if self._store.engine.dialect.name == "sqlite":
                return self._hold_file()
            with in_one_line(self._store.name):
                return self._hold_connection()
        finally:
            self._threads.release()

    def release(self) -> None:
        """Let another process take it."""
        with self._threads:
            if self._file is not None:
                os.close(self._file)
                self._file = None
            if self._connection is not None:
                self._drop_connection()

    def _hold_file(self) -> bool:
        self._mind_the_file()
        if self._file is not None:
            return True
        # The file stays: removing it would let two processes lock two files of one name. It lies beside the database
        # itself, by whatever name or link that was opened.
        opened = os.open(
            Path(f"{Path(self._store.name).resolve()}.lock"), os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600
        )
        try:
            fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(opened)
            return False
        self._file = opened
        return True

    def _mind_the_file(self) -> None:
        """Let go of a database file that was removed or replaced: what is written to it is lost."""
        file = Path(self._store.name)
        try:
            found = file.stat()
        except FileNotFoundError:
            self._store.close()
            raise StoreError(f"{file}: this database is gone; {way_back(file) or 'put it back'}") from None
        if self._found not in (None, (found.st_dev, found.st_ino)):
            self._store.close()
        self._found = (found.st_dev, found.st_ino)

    def _hold_connection(self) -> bool:
        if self._connection is not None:
            try:
                self._connection.execute(text("SELECT 1"))
            except DBAPIError:  # the server went away, and the lock with it
                self._drop_connection()
            else:
                return True
        connection = self._store.engine.connect().execution_options(isolation_level="AUTOCOMMIT")
        taken = connection.execute(text("SELECT pg_try_advisory_lock(:key)"), {"key": RUNNER_LOCK}).scalar()
        if taken:
            self._connection = connection
            self._bound(connection)
        else:
            connection.close()
        return bool(taken)

    def _bound(self, connection: Connection) -> None:
        """Let neither side keep the lock's line for long when the other has fallen silent."""
        line: Any = connection.connection.dbapi_connection
        line.patience_s = PATIENCE_S
        if line.info.server_version >= 140000:  # which has brought this setting
            connection.exec_driver_sql(f"SET idle_session_timeout = {IDLE_S * 1000}")

    def _drop_connection(self) -> None:
        if self._connection is not None:
            self._connection.invalidate()  # closed for good: back in the pool it would keep the lock
            self._connection.close()
            self._connection = None
