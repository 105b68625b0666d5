"""Which file holds which kind of calendar: a file keeps its kind until the grower chooses another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import UUID

from sqlalchemy import select

from calendar_core.planning.events import CalendarKind, CalendarOf
from calendar_core.storage.rows import columns, record, upsert
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class CalendarFile:
    """A file and the kind of calendar in it; ``tree_id`` is whose it is, of a kind that is of one tree."""

    path: str
    kind: CalendarKind
    tree_id: UUID | None = None

    @property
    def of(self) -> CalendarOf:
        """The calendar that is in it."""
        return CalendarOf(self.kind, self.tree_id)


def get_file(connection: Connection, garden_id: UUID, path: str) -> CalendarFile | None:
    """Return what was written to a path last, None where nothing was."""
    kept = tables.calendar_file
    chosen = select(*columns(kept, CalendarFile)).where(kept.c.garden_id == garden_id, kept.c.path == path)
    row = connection.execute(chosen).first()
    return None if row is None else CalendarFile(*row)


def put_file(connection: Connection, garden_id: UUID, file: CalendarFile) -> None:
    """Remember what is written to a path."""
    upsert(connection, tables.calendar_file, [record(file, garden_id=garden_id)])


def other_garden(connection: Connection, garden_id: UUID, path: str) -> str:
    """Return the name of another garden whose calendar was written to a path, "" where there is none."""
    kept, garden = tables.calendar_file, tables.garden
    chosen = select(garden.c.name).join(kept, kept.c.garden_id == garden.c.id)
    found = chosen.where(kept.c.path == path, kept.c.garden_id != garden_id).limit(1)
    return connection.execute(found).scalar() or ""
