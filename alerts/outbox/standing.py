"""Warnings as they stand, and when hazards were last judged."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from sqlalchemy import select, update

from alerts.outbox.queue import post
from calendar_core.storage.rows import columns, record, upsert
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime
    from uuid import UUID

    from sqlalchemy import Connection

    from alerts.notices import Channel, Notice, Severity

WarningState = Literal["active", "withdrawn", "expired"]


@dataclass(frozen=True, slots=True)
class StandingWarning:
    """A warning at its latest revision. ``data`` is what its makers need again, as JSON values."""

    id: UUID
    garden_id: UUID
    hazard: str
    severity: Severity
    onset: datetime
    expires: datetime
    state: WarningState
    revision: int
    data: Mapping[str, Any]
    made_at: datetime
    forecast_at: datetime | None = None


def announce(
    connection: Connection,
    warning: StandingWarning,
    notice: Notice,
    now: datetime,
    due: Callable[[Channel], datetime | None] | None = None,
) -> int:
    """Store a warning's new state with its messages, which the caller's one transaction keeps together.

    Returns the number of messages; announcing the same revision again adds none.
    """
    remember(connection, warning)
    return post(connection, warning.garden_id, notice, now, due)


def remember(connection: Connection, warning: StandingWarning) -> None:
    """Store a warning's new state of which nobody is told."""
    upsert(connection, tables.warning, [record(warning, data=dict(warning.data))])


def warnings_since(connection: Connection, garden_id: UUID, since: datetime) -> tuple[StandingWarning, ...]:
    """Return the warnings of a garden, withdrawn and expired ones too, that end after a moment; by onset."""
    table = tables.warning
    chosen = select(*columns(table, StandingWarning)).where(
        table.c.garden_id == garden_id, table.c.expires > since
    )
    rows = connection.execute(chosen.order_by(table.c.onset, table.c.id))
    return tuple(StandingWarning(*row) for row in rows)


def active_warnings(connection: Connection, garden_id: UUID) -> tuple[StandingWarning, ...]:
    """Return the warnings of a garden that hold, by onset."""
    table = tables.warning
    chosen = select(*columns(table, StandingWarning)).where(
        table.c.garden_id == garden_id, table.c.state == "active"
    )
    rows = connection.execute(chosen.order_by(table.c.onset, table.c.id))
    return tuple(StandingWarning(*row) for row in rows)


def expire_warnings(connection: Connection, now: datetime) -> int:
    """Let warnings pass whose time is over; nobody is told. Returns how many.

    One that a clock had let pass too soon, which ran ahead and was set right, holds again.
    """
    table = tables.warning
    too_soon = update(table).where(table.c.state == "expired", table.c.expires > now)
    connection.execute(too_soon.values(state="active"))
    over = update(table).where(table.c.state == "active", table.c.expires <= now)
    return connection.execute(over.values(state="expired")).rowcount


@dataclass(frozen=True, slots=True)
class Judgement:
    """When a garden's hazards were last judged, and when the forecast they were judged on was made."""

    judged_at: datetime
    forecast_at: datetime


def note_judgement(connection: Connection, garden_id: UUID, judgement: Judgement) -> None:
    """Store the latest judgement of a garden."""
    upsert(connection, tables.judgement, [record(judgement, garden_id=garden_id)])


def last_judgement(connection: Connection, garden_id: UUID) -> Judgement | None:
    """Return the latest judgement of a garden."""
    table = tables.judgement
    row = connection.execute(select(*columns(table, Judgement)).where(table.c.garden_id == garden_id)).first()
    return None if row is None else Judgement(*row)
