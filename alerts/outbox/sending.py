"""Emptying the queue: each message is claimed, tried and settled, with a commit between every two steps."""

from __future__ import annotations

from typing import TYPE_CHECKING

from alerts.notices import Message, Result, Retry, one_line
from alerts.outbox.queue import claim, settle

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from uuid import UUID

    from calendar_core.storage.engine import Store

SHARE_S = 60.0
"""Seconds of a round that one channel may take before it is passed over until the next (estimate: as long as one slow
delivery, so that a slow server keeps no other waiting for longer)."""


def send_due(
    store: Store, deliver: Callable[[Message], Result], holder: str, now: Callable[[], datetime]
) -> tuple[tuple[Message, Result], ...]:
    """Try every message that is due, but for those of channels that take too long, and return how each went.

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
    spent: dict[UUID, float] = {}
    while True:
        begun = now()
        with store.begin() as connection:
            claimed = claim(connection, holder, begun, [each for each in spent if spent[each] >= SHARE_S])
        if claimed is None:
            return tuple(tried)
        result = _tried(deliver, claimed.message)
        ended, channel_id = now(), claimed.message.channel.id
        with store.begin() as connection:
            settle(connection, claimed, result, ended)
        spent[channel_id] = spent.get(channel_id, 0.0) + (ended - begun).total_seconds()
        tried.append((claimed.message, result))


def _tried(deliver: Callable[[Message], Result], message: Message) -> Result:
    try:
        return deliver(message)
    except Exception as error:  # noqa: BLE001 - one channel's fault must not keep the others silent
        return Retry(one_line(f"{type(error).__name__}: {error}"), unsure=True)
