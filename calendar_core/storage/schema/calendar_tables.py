"""The tables of calendars that are subscribed to: secret addresses, the bytes behind them, and places they are sent to."""

from __future__ import annotations

from sqlalchemy import JSON, Column, Index, LargeBinary, String, Table

from calendar_core.storage.schema.column_types import Id, UtcDateTime, garden_id, identity, metadata

calendar_address = Table(
    "calendar_address",
    metadata,
    identity(),
    garden_id(),
    Column("kind", String, nullable=False),
    Column("tree_id", Id),  # no foreign key: the address outlives the tree
    Column("label", String, nullable=False),
    Column("secret_hash", String, nullable=False, unique=True),
    Column("created_at", UtcDateTime, nullable=False),
    Column("last_used", UtcDateTime),
    Column("revoked_at", UtcDateTime),
    Index(None, "garden_id"),
)

calendar_text = Table(
    "calendar_text",
    metadata,
    garden_id(primary_key=True),
    Column("holds", String, primary_key=True),
    Column("data", LargeBinary, nullable=False),
    Column("etag", String, nullable=False),
    Column("modified_at", UtcDateTime, nullable=False),
    Column("made_from", String, nullable=False),
)

calendar_place = Table(
    "calendar_place",
    metadata,
    identity(),
    garden_id(),
    Column("place", String, nullable=False, unique=True),  # two gardens must not write over each other
    Column("login", String, nullable=False),
    Column("added_at", UtcDateTime, nullable=False),
    Column("sent", JSON, nullable=False),  # the etag of each calendar that is there
    Column("why_failing", String, nullable=False),
    Index(None, "garden_id"),
)
