"""The tables of told dates: each as it was last told, what it rested on, and how it moved."""

from __future__ import annotations

from sqlalchemy import JSON, Column, ForeignKey, Index, Integer, String, Table

from calendar_core.storage.schema.column_types import Day, Id, UtcDateTime, garden_id, identity, metadata

told_basis = Table(
    "told_basis",
    metadata,
    identity(),
    garden_id(),
    Column("told_on", Day, nullable=False),
    Column("measured_to", Day),
    Column("recorded", UtcDateTime),
    Column("record", String, nullable=False),
    Column("program", String, nullable=False),
    Column("forecast", JSON),
    Index(None, "garden_id"),
)

told_date = Table(
    "told_date",
    metadata,
    Column("item_id", Id, primary_key=True),
    Column("side", String, primary_key=True),
    garden_id(),
    Column("tree_id", Id, ForeignKey("tree.id"), nullable=False),
    Column("day", Day, nullable=False),
    Column("told_on", Day, nullable=False),
    Column("basis", Id, ForeignKey("told_basis.id"), nullable=False),
    Index(None, "garden_id"),
)

told_move = Table(
    "told_move",
    metadata,
    Column("item_id", Id, primary_key=True),
    Column("side", String, primary_key=True),
    Column("moved_on", Day, primary_key=True),
    garden_id(),
    Column("tree_id", Id, ForeignKey("tree.id"), nullable=False),
    Column("told_on", Day, nullable=False),
    Column("before", Day, nullable=False),
    Column("after", Day, nullable=False),
    Column("parts", JSON, nullable=False),
    Column("operation", String, nullable=False),
    Column("rule", String, nullable=False),
    Column("cycle", Integer, nullable=False),
    Column("label", String, nullable=False),
    Column("part", String, nullable=False),
    Index(None, "garden_id", "moved_on"),
)
