"""Emptying the queue: each message is claimed, tried and settled, with a commit between every two steps."""

from __future__ import annotations

from typing import TYPE_CHECKING

from alerts.notices import Message, Result, Retry
from alerts.outbox.queue import claim, settle

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from calendar_core.storage.engine import Store


def send_due(
    store: Store, deliver: Callable[[Message], Result], holder: str, now: Callable[[], datetime]
) -> tuple[tuple[Message, Result], ...]:
    """Try every message that is due, and return how each went.

    Parameters
    ----------
    store : Store
        The garden's database.
    deliver : callable
        Carries one message; what it raises counts as a try that failed.
    holder : str
        A name that no other process has.
    now : callable
        Gives the present moment, aware; asked anew before each try.

    Raises
    ------
    StoreError
        When the database refuses; a message may then have gone out unsettled, and is repeated later.
    """
    tried: list[tuple[Message, Result]] = []
    while True:
        with store.begin() as connection:
            claimed = claim(connection, holder, now())
        if claimed is None:
            return tuple(tried)
        result = _tried(deliver, claimed.message)
        with store.begin() as connection:
            settle(connection, claimed, result, now())
        tried.append((claimed.message, result))


def _tried(deliver: Callable[[Message], Result], message: Message) -> Result:
    try:
        return deliver(message)
    except Exception as error:  # noqa: BLE001 - one channel's fault must not keep the others silent
        return Retry(f"{type(error).__name__}: {error}", unsure=True)
