"""The demo's garden behind pages, and the browser that the machine has."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import sync_playwright

from tests.app.conftest import run
from tests.pages.serving import serving

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page

    from tests.pages.serving import Served

DAY = date(2015, 6, 25)  # of the demo: work, looks and a warning of hot pots
CHROMIUM = Path("/usr/bin/chromium")
QUIET = ("--no-sandbox", "--disable-dev-shm-usage", "--disable-background-networking")


@pytest.fixture(scope="session")
def demo_database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make the demo's garden once; nobody writes to this one."""
    out = tmp_path_factory.mktemp("demo") / "out"
    assert run("demo", "--out", str(out), "--today", DAY.isoformat()).status == 0
    return out / "garden.db"


@pytest.fixture
def garden_file(demo_database: Path, tmp_path: Path) -> Path:
    """Give a copy of the demo's garden, to be written to."""
    copy = tmp_path / "garden.db"
    shutil.copy(demo_database, copy)
    return copy


@pytest.fixture
def served(garden_file: Path) -> Iterator[Served]:
    """Serve a copy of the demo's garden as of a day in June."""
    with serving(garden_file, DAY) as found:
        yield found


@pytest.fixture(scope="module")
def shared(demo_database: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Serve one copy to all tests of a file."""
    copy = tmp_path_factory.mktemp("shared") / "garden.db"
    shutil.copy(demo_database, copy)
    with serving(copy, DAY) as found:
        yield found


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Give the machine's Chromium."""
    if not CHROMIUM.exists():
        pytest.skip("Chromium is not installed (apt-get install chromium)")
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=str(CHROMIUM), args=list(QUIET))
        yield found
        found.close()


@pytest.fixture
def phone(browser: Browser, served: Served) -> Iterator[Page]:
    """Give a page of a phone; what it complains of is a fault."""
    context = browser.new_context(
        viewport={"width": 390, "height": 844},
        device_scale_factor=2,
        has_touch=True,
        is_mobile=True,
        base_url=served.url,
    )
    context.set_default_timeout(20_000)
    shown = context.new_page()
    complaints: list[str] = []
    shown.on("console", lambda told: complaints.append(told.text) if told.type == "error" else None)
    shown.on("pageerror", lambda fault: complaints.append(str(fault)))
    yield shown
    context.close()
    assert complaints == []
