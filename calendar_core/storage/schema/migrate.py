"""Bringing a database's schema forward and back. The only module that imports Alembic.

A new migration is drafted from the tables with ``alembic.command.revision(config(connection), "what
changes", autogenerate=True, rev_id="0002")``, then read and corrected by hand.
"""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from alembic import command
from alembic.config import Config
from alembic.util import CommandError

from calendar_core.storage.errors import StoreError
from calendar_core.storage.transactions import WRITES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy import Connection, Engine


def config(connection: Connection) -> Config:
    """Return Alembic's configuration; there is no configuration file."""
    found = Config(attributes={"connection": connection})
    found.set_main_option("script_location", "calendar_core.storage.schema:migrations")
    return found


def upgrade(engine: Engine, revision: str = "head") -> None:
    """Bring the schema forward; does nothing where another process has just done it."""
    with schema_change(engine) as connection:
        try:
            command.upgrade(config(connection), revision)
        except CommandError as error:
            where = engine.url.render_as_string()
            raise StoreError(f"{where}: unknown schema: {error}: update the program") from error


def downgrade(engine: Engine, revision: str) -> None:
    """Bring the schema back to an older revision, or to ``base``: nothing."""
    with schema_change(engine) as connection:
        command.downgrade(config(connection), revision)


@contextmanager
def schema_change(engine: Engine) -> Iterator[Connection]:
    """Give a write transaction in which tables may be rebuilt; all of it happens or nothing.

    SQLite changes a table by making it anew and dropping the old one, and with foreign keys enforced that
    drop deletes every row that hangs on it. They are off until the end, and checked before the commit.
    Source: SQLite documentation, "ALTER TABLE", section "Making Other Kinds Of Table Schema Changes".
    """
    with engine.connect() as connection:
        connection.execution_options(**{WRITES: True})
        with _foreign_keys_off(connection), _unhurried(connection), connection.begin():
            if engine.dialect.name == "postgresql":
                connection.exec_driver_sql("SET LOCAL statement_timeout = 0")
            yield connection
            if engine.dialect.name == "sqlite":
                _refuse_broken_references(connection)


@contextmanager
def _unhurried(connection: Connection) -> Iterator[None]:
    """Let a server be silent for as long as it takes: a change of a large table may."""
    if connection.dialect.name != "postgresql":
        yield
        return
    line: Any = connection.connection.dbapi_connection
    line.patience_s = None
    try:
        yield
    finally:
        del line.patience_s


@contextmanager
def _foreign_keys_off(connection: Connection) -> Iterator[None]:
    """Switch them off below SQLAlchemy: inside a transaction the pragma would do nothing."""
    if connection.dialect.name != "sqlite":
        yield
        return
    dbapi_connection: Any = connection.connection.dbapi_connection
    dbapi_connection.execute("PRAGMA foreign_keys=OFF")
    try:
        yield
    finally:
        dbapi_connection.execute("PRAGMA foreign_keys=ON")


def _refuse_broken_references(connection: Connection) -> None:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
    if broken is not None:
        child, _, parent, *_ = broken
        raise StoreError(f"a row of table {child} points at a missing row of {parent}: nothing was changed")
