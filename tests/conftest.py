"""What all tests share: no deadlines, no skips where all is needed, one PostgreSQL server."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from tests.postgresql import programs, server, tell

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator

# A busy machine is no fault.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Turn a skip into a failure when LEAFCLOCK_NEED_ALL=1; otherwise it takes a line of the summary."""
    report = yield
    if report.skipped and os.environ.get("LEAFCLOCK_NEED_ALL") == "1":
        report.outcome = "failed"
        report.longrepr = f"LEAFCLOCK_NEED_ALL=1, but: {report.longrepr}"
    return report


@pytest.fixture(scope="session")
def postgresql_url() -> Iterator[str]:
    """Give the URL, without the database's name, of a server that runs as long as the tests."""
    found = programs()
    if found is None:
        pytest.skip("PostgreSQL is not installed (apt-get install postgresql)")
    with server(found) as url:
        yield url


@pytest.fixture
def empty_postgresql(postgresql_url: str) -> str:
    """Give the URL of an empty database."""
    url = postgresql_url.format("postgres")
    tell(url, "DROP SCHEMA public CASCADE; CREATE SCHEMA public")
    return url
