"""A service with calendars at secret addresses, on a port of this machine."""

from __future__ import annotations

import threading
import time
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid4
from zoneinfo import ZoneInfo

import pytest
import uvicorn

from calendar_core.app.calendar.addresses import MadeAddress, hash_of
from calendar_core.app.shell.clock import Clock
from calendar_core.garden.model import Garden, MonthDay
from calendar_core.pages.service import make_app
from calendar_core.pages.shell.site import Site
from calendar_core.planning.events import CalendarOf
from calendar_core.storage import calendar_addresses, calendar_texts, gardens
from calendar_core.storage.calendar_addresses import CalendarAddress
from calendar_core.storage.engine import open_store
from tests.alerts.conftest import free_port
from tests.databases import migrated

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from fastapi import FastAPI

    from calendar_core.pages.shell.ready_calendars import ReadyCalendars
    from calendar_core.storage.engine import Store

NOW = datetime(2015, 6, 24, 19, tzinfo=UTC)
WORK = CalendarOf("work")
GARDEN = Garden(
    UUID(int=7), "Court", "Seattle", 47.45, -122.31, 130.0, "America/Los_Angeles", "metric",
    MonthDay(11, 9), MonthDay(12, 17),
)  # fmt: skip


@dataclass
class Bench:
    """A garden's pages on a clock of the test."""

    store: Store
    moment: datetime = NOW
    minutes: int = 0

    def __post_init__(self) -> None:
        self.app = make_app(Site(self.store))
        self.calendars: ReadyCalendars = self.app.state.calendars
        self.calendars.clock_of = self.clock

    def clock(self, zone: str) -> Clock:
        return Clock(self.moment.astimezone(ZoneInfo(zone)).date(), self.moment)

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
def bench(tmp_path: Path) -> Iterator[Bench]:
    """Give a garden without trees and without calendars."""
    store = open_store(migrated(tmp_path / "garden.db"))
    with store.begin() as connection:
        gardens.add_garden(connection, GARDEN)
    yield Bench(store)
    store.close()


@contextmanager
def running(app: FastAPI, **settings: object) -> Iterator[str]:
    """Serve an application, and give where."""
    port = free_port()
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
def service(bench: Bench) -> Iterator[str]:
    """Give the address of a running service."""
    with running(bench.app) as where:
        yield where
