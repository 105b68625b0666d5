"""Dataclasses to rows and back, and the insert that each database spells in a dialect of its own."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any

from sqlalchemy.dialects import sqlite

if TYPE_CHECKING:
    from sqlalchemy import Column, Connection, Table
    from sqlalchemy.dialects import postgresql


def columns(table: Table, shape: type) -> list[Column[Any]]:
    """Return the columns that hold the fields of a dataclass, in the order of its fields."""
    return [table.c[each.name] for each in fields(shape)]


def record(thing: Any, **more: object) -> dict[str, Any]:
    """Return the fields of a dataclass by name, with the columns it does not know."""
    return {each.name: getattr(thing, each.name) for each in fields(thing)} | more


def insert(connection: Connection, table: Table) -> sqlite.Insert | postgresql.Insert:
    """Return an insert that knows ``on_conflict_do_nothing`` and ``on_conflict_do_update``."""
    if connection.dialect.name == "sqlite":
        return sqlite.insert(table)
    from sqlalchemy.dialects import postgresql  # noqa: PLC0415 - 40 ms that users of SQLite need not wait

    return postgresql.insert(table)


def upsert(connection: Connection, table: Table, records: list[dict[str, Any]]) -> None:
    """Insert rows, or replace all but the key of those that are there."""
    if not records:
        return
    statement = insert(connection, table)
    rest = {name: statement.excluded[name] for name in records[0] if not table.c[name].primary_key}
    key = [column.name for column in table.primary_key]
    connection.execute(statement.on_conflict_do_update(index_elements=key, set_=rest), records)
