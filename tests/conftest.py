"""What all tests share: no deadlines, no skips where all is needed, one PostgreSQL server."""

from __future__ import annotations

import os
import pickle
import tomllib
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from tests.postgresql import programs, server, tell

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator

# Properties: a few examples at the desk, more and always the same ones where CI is set. A busy machine is no fault.
settings.register_profile("dev", max_examples=50, deadline=None)
settings.register_profile("ci", max_examples=200, deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "dev")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the files of slow tests, so that no worker is left alone with one of them at the end."""
    slow = {item.path for item in items if item.get_closest_marker("slow")}
    items.sort(key=lambda item: item.path not in slow)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Turn a skip into a failure when LEAFCLOCK_NEED_ALL=1; otherwise each reason takes one line."""
    report = yield
    if report.skipped and isinstance(report.longrepr, tuple):
        reason = report.longrepr[2]
        if os.environ.get("LEAFCLOCK_NEED_ALL") == "1":
            report.outcome, report.longrepr = "failed", f"LEAFCLOCK_NEED_ALL=1, but: {reason}"
        else:  # told of no place, so that all skips for one reason take one line
            report.longrepr = (str(Path(__file__).parent), None, reason)  # type: ignore[assignment]
    return report


@pytest.fixture(scope="session", autouse=True)
def files_parsed_once() -> Iterator[None]:
    """Let a text of config/ be parsed once, however often it is loaded; each load has tables of its own."""
    parse = tomllib.loads

    @cache
    def parsed(text: str) -> bytes:
        return pickle.dumps(parse(text))

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tomllib, "loads", lambda text: pickle.loads(parsed(text)))  # noqa: S301 - it was made here
        yield


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
