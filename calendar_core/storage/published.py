"""What calendar subscribers were told, which event each tree was put in, and which work was told for which day."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING
from uuid import UUID

from sqlalchemy import delete, select, update

from calendar_core.planning.events import PublishedEvent, ToldWork
from calendar_core.storage.rows import columns, record, upsert
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from datetime import date

    from sqlalchemy import Connection

    from calendar_core.planning.events import CalendarKind

KEPT = timedelta(
    days=60
)  # so long what was told of past days is kept (estimate: missed work is looked for in two weeks)

Members = dict[tuple[str, int, UUID], UUID]
"""The event's uid by (group, cycle, tree): a tree keeps its event once chosen."""


def load(
    connection: Connection, garden_id: UUID, calendar: CalendarKind | None = "windows"
) -> tuple[PublishedEvent, ...]:
    """Return the published events of a garden's calendar (None: of all), by start and uid."""
    return _load(connection, garden_id, calendar, gone=False)


def load_gone(
    connection: Connection, garden_id: UUID, calendar: CalendarKind = "windows"
) -> dict[UUID, PublishedEvent]:
    """Return the events that left a garden's calendar, as they were last told: they may come back."""
    return {event.uid: event for event in _load(connection, garden_id, calendar, gone=True)}


def _load(
    connection: Connection, garden_id: UUID, calendar: CalendarKind | None, *, gone: bool
) -> tuple[PublishedEvent, ...]:
    event = tables.published_event.c
    chosen = select(*columns(tables.published_event, PublishedEvent))
    found = chosen.where(event.garden_id == garden_id, event.gone == gone).order_by(event.start, event.uid)
    if calendar is not None:
        found = found.where(event.calendar == calendar)
    return tuple(PublishedEvent(*row) for row in connection.execute(found))


def save(
    connection: Connection,
    garden_id: UUID,
    events: Collection[PublishedEvent],
    removed: Collection[UUID] = (),
) -> None:
    """Store events, new or changed, and note that those whose uids are given are gone; others stay as they are."""
    rows = [record(event, garden_id=garden_id, gone=False) for event in events]
    upsert(connection, tables.published_event, rows)
    if removed:
        event = tables.published_event.c
        left = event.garden_id == garden_id, event.uid.in_(removed)
        connection.execute(update(tables.published_event).where(*left).values(gone=True))


def load_members(connection: Connection, garden_id: UUID) -> Members:
    """Return the event of every tree that was put in one."""
    member = tables.published_member.c
    chosen = select(member.group, member.cycle, member.tree_id, member.event_uid)
    rows = connection.execute(chosen.where(member.garden_id == garden_id))
    return {(group, cycle, tree): uid for group, cycle, tree, uid in rows}


def save_members(
    connection: Connection, garden_id: UUID, members: Mapping[tuple[str, int, UUID], UUID]
) -> None:
    """Store the event of each tree; trees not named keep theirs, also when the event itself is dropped."""
    rows = [
        {"garden_id": garden_id, "group": group, "cycle": cycle, "tree_id": tree, "event_uid": uid}
        for (group, cycle, tree), uid in members.items()
    ]
    upsert(connection, tables.published_member, rows)


def load_work(connection: Connection, garden_id: UUID, since: date) -> tuple[ToldWork, ...]:
    """Return the work that was told for the days from one on, by day and item."""
    work = tables.told_work
    chosen = select(*columns(work, ToldWork)).where(work.c.garden_id == garden_id, work.c.day >= since)
    return tuple(ToldWork(*row) for row in connection.execute(chosen.order_by(work.c.day, work.c.item_id)))


def save_work(connection: Connection, garden_id: UUID, told: Collection[ToldWork], since: date) -> None:
    """Store what is told for the days from one on, in place of what was told for them before."""
    work = tables.told_work
    here = work.c.garden_id == garden_id
    connection.execute(delete(work).where(here, (work.c.day >= since) | (work.c.day < since - KEPT)))
    upsert(connection, work, [record(each, garden_id=garden_id) for each in told])
