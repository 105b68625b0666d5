"""Keys to the pages and visits made with them; of both only hashes are stored."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Literal
from uuid import UUID

from sqlalchemy import delete, select

from calendar_core.knowledge.words import Role
from calendar_core.storage.rows import columns, record
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from sqlalchemy import Connection

KeyKind = Literal["key", "password"]


@dataclass(frozen=True, slots=True)
class AccessKey:
    """What lets somebody into the pages: SHA-256 of a key, or Argon2 of the owner's password."""

    id: UUID
    role: Role
    label: str
    kind: KeyKind
    hash: str = field(repr=False)
    created_at: datetime


def add_key(connection: Connection, garden_id: UUID, key: AccessKey) -> None:
    """Store a key."""
    connection.execute(tables.access_key.insert().values(record(key, garden_id=garden_id)))


def list_keys(connection: Connection, garden_id: UUID) -> tuple[AccessKey, ...]:
    """Return the keys of a garden, the oldest first."""
    table = tables.access_key
    chosen = select(*columns(table, AccessKey)).where(table.c.garden_id == garden_id)
    return tuple(
        AccessKey(*row) for row in connection.execute(chosen.order_by(table.c.created_at, table.c.id))
    )


def remove_key(connection: Connection, key_id: UUID) -> None:
    """Forget a key, and whoever entered with it."""
    connection.execute(delete(tables.visit).where(tables.visit.c.key_id == key_id))
    connection.execute(delete(tables.access_key).where(tables.access_key.c.id == key_id))


def begin_visit(
    connection: Connection, secret_hash: str, key_id: UUID, now: datetime, until: datetime
) -> None:
    """Let somebody in who has shown a key; visits that are over are forgotten."""
    connection.execute(delete(tables.visit).where(tables.visit.c.expires_at <= now))
    row = {"secret_hash": secret_hash, "key_id": key_id, "expires_at": until}
    connection.execute(tables.visit.insert().values(row))


def end_visit(connection: Connection, secret_hash: str) -> None:
    """Let somebody go."""
    connection.execute(delete(tables.visit).where(tables.visit.c.secret_hash == secret_hash))


def role_of_visit(connection: Connection, garden_id: UUID, secret_hash: str, now: datetime) -> Role | None:
    """Return what one who entered may do, None for a stranger."""
    key, visit = tables.access_key, tables.visit.c
    chosen = select(key.c.role).join(tables.visit, visit.key_id == key.c.id)
    mine = (key.c.garden_id == garden_id, visit.secret_hash == secret_hash, visit.expires_at > now)
    found: Role | None = connection.execute(chosen.where(*mine)).scalar()
    return found
