"""That somebody wrote is noticed, whoever it was, and nothing else is; on both databases."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from calendar_core.pages.shell.site import Site
from calendar_core.storage.engine import open_store
from calendar_core.storage.errors import StoreError
from tests.app.conftest import run
from tests.postgresql import tell

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

DAY = date(2015, 6, 25)


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Give the address of a database with a garden of two trees."""
    where = str(tmp_path / "garden.db")
    if request.param == "postgresql":
        where = request.getfixturevalue("empty_postgresql")
    words = ("--db", where, "--offline", "--place", "Seattle", "--trees", "2 Japanese maple")
    assert run("start", *words, "--today", DAY.isoformat()).status == 0
    return where


@pytest.fixture
def site(database: str) -> Iterator[Site]:
    found = Site(open_store(database), day=DAY)
    yield found
    found.close()


def test_a_session_lasts_until_somebody_writes(site: Site, database: str) -> None:
    first = site.session()
    assert first is not None
    written = len(first.entries)
    assert site.session() is first
    assert (
        run("today", "--db", database, "--today", DAY.isoformat()).status == 0
    )  # plans, and keeps what it planned
    again = site.session()
    assert site.session() is again
    seen = (
        "seen",
        "Japanese maple 1",
        "leaves hardened",
        "--yes",
        "--db",
        database,
        "--today",
        DAY.isoformat(),
    )
    assert run(*seen).status == 0
    after = site.session()
    assert after is not None
    assert after is not again
    assert len(after.entries) == written + 1


def test_a_line_that_was_lost_is_opened_anew(empty_postgresql: str) -> None:
    """At most one who asks is told of it, in a line."""
    site = Site(open_store(empty_postgresql))
    site.changes()
    every_other = "datname = current_database() AND pid <> pg_backend_pid()"
    tell(empty_postgresql, f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE {every_other}")  # noqa: S608
    with pytest.raises(StoreError):
        site.changes()
    assert site.changes() == site.changes()
    site.close()
