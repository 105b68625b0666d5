"""The private key that push services know a database's messages by: made once, and never exported."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select

from calendar_core.storage.rows import insert
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from collections.abc import Callable

    from calendar_core.storage.engine import Store


def push_key(store: Store, make: Callable[[], str]) -> str:
    """Return the key of a database, made where there is none yet: phones have subscribed to this one."""
    key = tables.push_key
    stored = select(key.c.private_key)
    with store.read() as connection:
        if (found := connection.execute(stored).scalar()) is not None:
            return str(found)
    with store.begin() as connection:
        adding = insert(connection, key).values(id=1, private_key=make())
        connection.execute(adding.on_conflict_do_nothing())
        return str(connection.execute(stored).scalar_one())
