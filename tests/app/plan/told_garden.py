"""A garden whose calendar is written day by day; the trees are made up, the weather is real (NOAA, Seattle)."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from calendar_core.app.calendar.publishing import publish
from calendar_core.app.garden.founding import found
from calendar_core.app.garden.garden_file import GardenFile, GardenPart, TreePart
from calendar_core.app.log.entries import entry, write
from calendar_core.app.shell.clock import clock
from calendar_core.app.shell.session import Session, knowledge
from calendar_core.app.weather.measured import read_measured
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.storage import told_dates
from calendar_core.storage.engine import open_store

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from calendar_core.garden.model import EntryKind, Garden
    from calendar_core.planning.moved_dates import DateMove
    from calendar_core.storage.engine import Store

ZONE = "America/Los_Angeles"


@dataclass(frozen=True)
class ToldGarden:
    """A garden in a database, asked on a day."""

    store: Store
    garden: Garden

    def on(self, day: date) -> Session:
        return Session(self.store, self.garden, clock(self.garden.zone, day))

    def publish(self, first: date, last: date | None = None) -> list[DateMove]:
        """Write the calendar on each day, and return what moved."""
        moves: list[DateMove] = []
        for n in range(((last or first) - first).days + 1):
            session = self.on(first + timedelta(days=n))
            publish(session, allow_many=True)
            moves += self.moves(session.today, session.today)
        return moves

    def moves(self, first: date, last: date) -> tuple[DateMove, ...]:
        with self.store.read() as connection:
            return told_dates.load_moves(connection, self.garden.id, first, last)

    def write(self, day: date, label: str, kind: EntryKind, **data: Any) -> None:
        session = self.on(day)
        trees = [tree for tree in session.trees if tree.label == label]
        write(session, entry(session, trees, kind, data, day))


@contextmanager
def told_garden(database: Path, day: date, *trees: str) -> Iterator[ToldGarden]:
    """Found a garden on a day, with the weather of Seattle."""
    parts = tuple(TreePart(species=name, aim="ramification", vigour=4) for name in trees)
    file = GardenFile(garden=GardenPart(latitude=47.5, longitude=-122.3), tree=parts, since=date(2014, 1, 1))
    days = read_measured(folder("demo") / "seattle-weather.csv", zone=ZoneInfo(ZONE))
    at = clock(ZONE, day)
    store = open_store(database)
    yield ToldGarden(store, found(store, file, knowledge(), at.today, at.now, days))
    store.close()
