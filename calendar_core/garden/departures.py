"""Trees that are gone: when each left the garden, and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.garden.state import valid_entries

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date
    from uuid import UUID

    from calendar_core.garden.model import Entry
    from calendar_core.knowledge.words import Departure


@dataclass(frozen=True, slots=True)
class Gone:
    """That a tree left the garden on a day, in an entry; it is not there from that day on."""

    on: date
    why: Departure
    entry: UUID
    note: str = ""


def departures(entries: Iterable[Entry], on: date) -> dict[UUID, Gone]:
    """Return the trees that are gone by the end of a day; of several entries about one the first counts."""
    out: dict[UUID, Gone] = {}
    for entry in valid_entries(entries, on):
        for tree in entry.tree_ids if entry.kind == "gone" else ():
            gone = Gone(entry.happened, entry.data["why"], entry.id, str(entry.data.get("note", "")))
            out.setdefault(tree, gone)
    return out
