"""The tables of told dates: each as it was last told, what it rested on, and how it moved."""

from __future__ import annotations

from sqlalchemy import JSON, Column, Date, ForeignKey, Index, Integer, String, Table, Uuid

from calendar_core.storage.schema.column_types import UtcDateTime, garden_id, identity, metadata

told_basis = Table(
    "told_basis",
    metadata,
    identity(),
    garden_id(),
    Column("told_on", Date, nullable=False),
    Column("measured_to", Date),
    Column("recorded", UtcDateTime),
    Column("record", String, nullable=False),
    Column("program", String, nullable=False),
    Column("forecast", JSON),
    Index(None, "garden_id"),
)

told_date = Table(
    "told_date",
    metadata,
    Column("item_id", Uuid, primary_key=True),
    Column("side", String, primary_key=True),
    garden_id(),
    Column("tree_id", Uuid, ForeignKey("tree.id"), nullable=False),
    Column("day", Date, nullable=False),
    Column("told_on", Date, nullable=False),
    Column("basis", Uuid, ForeignKey("told_basis.id"), nullable=False),
    Index(None, "garden_id"),
)

told_move = Table(
    "told_move",
    metadata,
    Column("item_id", Uuid, primary_key=True),
    Column("side", String, primary_key=True),
    Column("moved_on", Date, primary_key=True),
    garden_id(),
    Column("tree_id", Uuid, ForeignKey("tree.id"), nullable=False),
    Column("told_on", Date, nullable=False),
    Column("before", Date, nullable=False),
    Column("after", Date, nullable=False),
    Column("parts", JSON, nullable=False),
    Column("operation", String, nullable=False),
    Column("rule", String, nullable=False),
    Column("cycle", Integer, nullable=False),
    Column("label", String, nullable=False),
    Column("part", String, nullable=False),
    Index(None, "garden_id", "moved_on"),
)
