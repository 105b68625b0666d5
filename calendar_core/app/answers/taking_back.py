"""What was written taken back, with what has come of it since."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.log.voids import void
from calendar_core.app.shell.session import Session
from calendar_core.app.warnings.warning import judge_where_left_out

if TYPE_CHECKING:
    from collections.abc import Collection
    from uuid import UUID

    from calendar_core.app.shell.receipt import Receipt


def take_back(session: Session, ids: Collection[UUID]) -> Receipt:
    """Take back entries written together, those that stand, all or none. Raises Refusal where none does.

    Trees that stand again where a warning found them are warned of again, though it was judged in between.
    """
    moved = {
        tree
        for entry in session.entries
        if entry.id in ids and "spot" in entry.data
        for tree in entry.tree_ids
    }
    receipt = void(session, ids)
    if moved:
        after = Session(session.store, session.garden, session.clock)
        judge_where_left_out(after, moved, after.clock.now)
    return receipt
