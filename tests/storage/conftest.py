"""Every test that asks for ``store`` runs twice: on a SQLite file and on a real PostgreSQL server.

Where PostgreSQL is not installed one test skips with a line that says so, and with LEAFCLOCK_NEED_ALL=1
all of them fail.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import UUID, uuid4

import pytest
from sqlalchemy import NullPool, create_engine

from calendar_core.garden.model import Garden, MonthDay, Tree
from calendar_core.storage import gardens
from calendar_core.storage.engine import open_store

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from calendar_core.storage.engine import Store

# A zone unlike UTC, so that nothing comes out right by chance.
_SERVER_OPTIONS = (
    "-c timezone=Asia/Kathmandu -c listen_addresses='' "
    "-c fsync=off -c synchronous_commit=off -c full_page_writes=off"
)
_INSTALLED = sorted(Path("/usr/lib/postgresql").glob("*/bin"))
_NEED_ALL = os.environ.get("LEAFCLOCK_NEED_ALL") == "1"
_DATABASES = ["sqlite", "postgresql"] if _INSTALLED or _NEED_ALL else ["sqlite"]


@pytest.fixture(scope="session")
def postgresql_url() -> Iterator[str]:
    """Start Debian's PostgreSQL on a socket of its own; give the URL without the database's name."""
    if not _INSTALLED:
        missing = "storage is tried on SQLite alone: PostgreSQL is not here (apt-get install postgresql)"
        (pytest.fail if _NEED_ALL else pytest.skip)(missing)
    # Under /tmp whatever TMPDIR says: the path of a socket may have no more than 107 characters.
    folder = tempfile.mkdtemp(prefix="pg.", dir="/tmp")
    run, server = _as_anyone_but_root(folder), ("-D", f"{folder}/data")
    try:
        create = [f"{_INSTALLED[-1]}/initdb", *server, "-U", "app", "--auth=trust", "--no-sync", "-E", "UTF8"]
        subprocess.run([*run, *create, "--locale=C.UTF-8"], check=True, stdout=subprocess.DEVNULL)
        options = f"{_SERVER_OPTIONS} -c unix_socket_directories={folder}"
        start = [f"{_INSTALLED[-1]}/pg_ctl", *server, "-w", "-l", f"{folder}/log", "-o", options, "start"]
        subprocess.run([*run, *start], check=True, stdout=subprocess.DEVNULL)
        try:
            yield f"postgresql://app@/{{}}?host={folder}"
        finally:
            stop = [f"{_INSTALLED[-1]}/pg_ctl", *server, "-m", "immediate", "stop"]
            subprocess.run([*run, *stop], check=True, stdout=subprocess.DEVNULL)
    finally:
        shutil.rmtree(folder)


def _as_anyone_but_root(folder: str) -> list[str]:
    """Return the words that run the server unprivileged: it refuses root."""
    if os.getuid() != 0:
        return []
    shutil.chown(folder, "nobody")
    drop = ["setpriv", "--reuid=nobody", "--regid=nogroup", "--clear-groups"]
    return [*drop, "env", "-i", f"PATH={os.environ['PATH']}", f"HOME={folder}"]


@pytest.fixture(scope="session")
def migrated_postgresql(postgresql_url: str) -> str:
    """Give the URL of a database that is migrated once; no test may change its schema."""
    _tell(postgresql_url.format("postgres"), "CREATE DATABASE migrated")
    url = postgresql_url.format("migrated")
    open_store(url).close()
    return url


def _tell(url: str, statement: str) -> None:
    """Run a statement outside of this program's own way to the database."""
    driven = url.replace("postgresql:", "postgresql+psycopg:")
    engine = create_engine(driven, isolation_level="AUTOCOMMIT", poolclass=NullPool)
    with engine.connect() as connection:
        connection.exec_driver_sql(statement)


@pytest.fixture(params=_DATABASES)
def empty_address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a database is to be: a file that is not there, or the URL of an empty database."""
    if request.param == "sqlite":
        return str(tmp_path / "folder" / "garden.db")
    url: str = request.getfixturevalue("postgresql_url").format("postgres")
    _tell(url, "DROP SCHEMA public CASCADE; CREATE SCHEMA public")
    return url


@pytest.fixture
def fresh_store(empty_address: str) -> Iterator[Store]:
    """Give an open store whose schema the test may change."""
    opened = open_store(empty_address)
    yield opened
    opened.close()


@pytest.fixture(params=_DATABASES)
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a migrated database without rows is: a file or a URL."""
    if request.param == "sqlite":
        file = tmp_path / "garden.db"
        open_store(file).close()
        return str(file)
    url: str = request.getfixturevalue("migrated_postgresql")
    _tell(url, "TRUNCATE garden, weather_series CASCADE")
    return url


@pytest.fixture
def store(address: str) -> Iterator[Store]:
    """Give an open store without rows, whose schema the test leaves as it is."""
    opened = open_store(address)
    yield opened
    opened.close()


@pytest.fixture
def sqlite_store(tmp_path: Path) -> Iterator[Store]:
    """Give a store on a SQLite file, for what only SQLite does."""
    opened = open_store(tmp_path / "only.db")
    yield opened
    opened.close()


def a_garden(name: str = "Court") -> Garden:
    """Invented; the place is Seattle-Tacoma airport."""
    return Garden(
        uuid4(),
        name,
        "Seattle",
        47.45,
        -122.31,
        130.0,
        "America/Los_Angeles",
        "metric",
        MonthDay(11, 9),
        MonthDay(12, 17),
    )


@pytest.fixture
def make_garden() -> Callable[..., Garden]:
    """Give the function that makes an invented garden, not stored."""
    return a_garden


@pytest.fixture
def garden(store: Store) -> Garden:
    """Give a stored garden."""
    made = a_garden()
    with store.begin() as connection:
        gardens.add_garden(connection, made)
    return made


@pytest.fixture
def trees(store: Store, garden: Garden) -> tuple[Tree, ...]:
    """Give two stored trees of the garden."""
    labels = ("Maple 1", "Pine 1")
    made = tuple(
        Tree(UUID(int=n), garden.id, label, label.split()[0]) for n, label in enumerate(labels, start=1)
    )
    with store.begin() as connection:
        gardens.add_trees(connection, made)
    return made
