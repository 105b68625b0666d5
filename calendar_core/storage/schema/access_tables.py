"""The tables of who may enter the pages: keys, the owner's password, and who has entered."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, String, Table

from calendar_core.storage.schema.column_types import UtcDateTime, garden_id, identity, metadata

access_key = Table(
    "access_key",
    metadata,
    identity(),
    garden_id(),
    Column("role", String, nullable=False),
    Column("label", String, nullable=False),
    Column("kind", String, nullable=False),  # key or password
    Column("hash", String, nullable=False),
    Column("created_at", UtcDateTime, nullable=False),
    Index(None, "hash"),
)

visit = Table(
    "visit",
    metadata,
    Column("secret_hash", String, primary_key=True),
    Column("key_id", ForeignKey("access_key.id", ondelete="CASCADE"), nullable=False),
    Column("expires_at", UtcDateTime, nullable=False),
)
