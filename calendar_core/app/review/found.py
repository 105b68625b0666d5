"""What was found at the looks of today, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.log.history import log_speaker
from calendar_core.garden.state import valid_entries

if TYPE_CHECKING:
    from collections.abc import Iterable
    from uuid import UUID

    from calendar_core.app.shell.session import Session


def found_today(session: Session, trees: Iterable[UUID]) -> list[tuple[UUID, str, list[str]]]:
    """Return of each tree its label and what was written down at its look today, each once."""
    told = log_speaker(session)
    entries = [
        entry
        for entry in valid_entries(session.entries, session.today)
        if entry.happened == session.today and (entry.kind == "review" or "asked" in entry.data)
    ]
    return [
        (tree, session.labels[tree], list(dict.fromkeys(told.told(e) for e in entries if tree in e.tree_ids)))
        for tree in trees
    ]
