"""Every test that asks for ``store`` runs twice: on a SQLite file and on a real PostgreSQL server."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import UUID, uuid4

import pytest

from calendar_core.garden.model import Garden, MonthDay, Tree
from calendar_core.storage import gardens
from calendar_core.storage.engine import open_store
from tests.databases import migrated
from tests.postgresql import tell

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from calendar_core.storage.engine import Store


@pytest.fixture(scope="session")
def migrated_postgresql(postgresql_url: str) -> str:
    """Give the URL of a database that is migrated once; no test may change its schema."""
    tell(postgresql_url.format("postgres"), "CREATE DATABASE migrated")
    url = postgresql_url.format("migrated")
    open_store(url).close()
    return url


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a database is to be: a file that is not there, or the URL of an empty database."""
    if request.param == "sqlite":
        return str(tmp_path / "folder" / "garden.db")
    url: str = request.getfixturevalue("empty_postgresql")
    return url


@pytest.fixture
def fresh_store(empty_address: str) -> Iterator[Store]:
    """Give an open store whose schema the test may change."""
    opened = open_store(empty_address)
    yield opened
    opened.close()


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a migrated database without rows is: a file or a URL."""
    if request.param == "sqlite":
        return str(migrated(tmp_path / "garden.db"))
    url: str = request.getfixturevalue("migrated_postgresql")
    tell(url, "TRUNCATE garden, weather_series, forecast_hours CASCADE")
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
    opened = open_store(migrated(tmp_path / "only.db"))
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
