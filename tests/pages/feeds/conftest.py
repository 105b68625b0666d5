"""A service with calendars at secret addresses, on a port of this machine."""

from __future__ import annotations

import threading
import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid4

import pytest
import uvicorn
from fastapi import FastAPI

from calendar_core.app.calendar.addresses import MadeAddress, hash_of
from calendar_core.garden.model import Garden, MonthDay
from calendar_core.pages.feeds.calendars import router
from calendar_core.planning.events import CalendarOf
from calendar_core.storage import calendar_addresses, calendar_texts, gardens
from calendar_core.storage.calendar_addresses import CalendarAddress
from calendar_core.storage.engine import Store, open_store
from tests.alerts.conftest import free_port
from tests.databases import migrated

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

NOW = datetime(2015, 6, 24, 19, tzinfo=UTC)
WORK = CalendarOf("work")
GARDEN = Garden(
    UUID(int=7), "Court", "Seattle", 47.45, -122.31, 130.0, "America/Los_Angeles", "metric",
    MonthDay(11, 9), MonthDay(12, 17),
)  # fmt: skip


@dataclass
class Site:
    """What a service lives on, with a clock of the test."""

    store: Store
    moment: datetime = NOW
    minutes: int = field(default=0)

    def now(self) -> datetime:
        return self.moment

    def put(self, data: bytes, of: CalendarOf = WORK) -> None:
        """Keep a calendar as a publication would, a minute after the last."""
        self.minutes += 1
        at = NOW + timedelta(minutes=self.minutes)
        with self.store.begin() as connection:
            calendar_texts.put_texts(connection, GARDEN.id, {of: data}, "mark", at)

    def address(self, secret: str, of: CalendarOf = WORK) -> MadeAddress:
        made = CalendarAddress(uuid4(), GARDEN.id, of.kind, of.tree_id, "phone", hash_of(secret), NOW)
        with self.store.begin() as connection:
            calendar_addresses.add_address(connection, made)
        return MadeAddress(made, secret)


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """Give a garden without trees and without calendars."""
    store = open_store(migrated(tmp_path / "garden.db"))
    with store.begin() as connection:
        gardens.add_garden(connection, GARDEN)
    yield Site(store)
    store.close()


@contextmanager
def serving(
    site: Site, more: Callable[[FastAPI], object] = lambda _: None, **settings: object
) -> Iterator[str]:
    """Serve the calendars of a site, and give where."""
    app, port = FastAPI(), free_port()
    app.state.site = site
    app.include_router(router)
    more(app)
    config = uvicorn.Config(app, host="127.0.0.1", port=port, lifespan="off", log_config=None, **settings)  # type: ignore[arg-type]
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join()


@pytest.fixture
def service(site: Site) -> Iterator[str]:
    """Give the address of a running service."""
    with serving(site) as where:
        yield where
