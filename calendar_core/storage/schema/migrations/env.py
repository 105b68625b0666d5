"""Alembic runs this file under the name env_py; imported under any other it does nothing."""

from __future__ import annotations

from typing import Literal

from alembic import context
from sqlalchemy import TypeDecorator

from calendar_core.storage.schema.tables import metadata
from calendar_core.storage.schema.version import VERSION_TABLE


def plain_type(kind: str, item: object, _draft: object) -> str | Literal[False]:
    """Draft the database's own types: a migration must not change when this program's types do."""
    return f"sa.{item.impl!r}" if kind == "type" and isinstance(item, TypeDecorator) else False


if __name__ == "env_py":
    context.configure(
        connection=context.config.attributes["connection"],
        target_metadata=metadata,
        version_table=VERSION_TABLE,
        render_as_batch=True,  # SQLite can hardly alter a table
        render_item=plain_type,
    )
    with context.begin_transaction():
        context.run_migrations()
