"""What passes between what is typed about a look and the log, and the entries that are made of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING, Any
from uuid import uuid5

from calendar_core.garden.model import Entry
from calendar_core.storage.gardens import OWNER

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date, datetime
    from uuid import UUID

    from calendar_core.app.review.visits import Visit, Visits
    from calendar_core.garden.model import EntryKind

Value = str | float


@dataclass(frozen=True)
class Draft:
    """An entry before it has an id: what it says, and the answers it stands for."""

    kind: EntryKind
    data: Mapping[str, Any]
    answers: Mapping[str, Value]
    parts: tuple[UUID, ...] = ()


@dataclass(frozen=True)
class Note:
    """What follows from an answer and does not show in the plan: a code of its sentence, and what is filled in."""

    code: str
    values: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Decided:
    """A decision as it was understood: of what (``key``), which (``value``), and what it writes.

    ``ends`` where the tree is no longer the grower's after it.
    """

    key: str
    value: str
    drafts: tuple[Draft, ...]
    notes: tuple[Note, ...] = ()
    ends: bool = False


def entries_of(
    visits: Visits, visit: Visit, drafts: Sequence[Draft], voided: Sequence[Entry]
) -> tuple[Entry, ...]:
    """Return entries whose ids are made of round, cycle, tree, questions and answers."""
    garden, trees, ids = visits.session.garden.id, (visit.tree.id,), set(visits.ids)
    out: list[Entry] = []
    for old in voided:
        identity, at = _identity(visit, f"void {old.id}", ids, garden), _moment(visits, out)
        out.append(Entry(identity, garden, trees, visits.session.today, at, OWNER, old.kind, voids=old.id))
    for draft in drafts:
        data = dict(draft.data)
        if draft.kind != "review":
            data["asked"] = {"round": visit.round, "cycle": visit.cycle, "answers": dict(draft.answers)}
        said = " ".join(f"{key}={data[key]}" for key in sorted(data))
        identity, at = (
            _identity(visit, f"{draft.kind} {said} {draft.parts}", ids, garden),
            _moment(visits, out),
        )
        on = _day(visit, draft, voided)
        out.append(Entry(identity, garden, trees, on, at, OWNER, draft.kind, data, part_ids=draft.parts))
    return tuple(out)


def _day(visit: Visit, draft: Draft, voided: Iterable[Entry]) -> date:
    """Return the day of an entry: that of what it corrects, for it was found then."""
    same = [old for old in voided if (old.kind == "review") == (draft.kind == "review")]
    if draft.kind != "review":
        same = [old for old in same if set(old.data["asked"]["answers"]) & set(draft.answers)]
    return min((old.happened for old in same), default=visit.on)


def _moment(visits: Visits, before: Sequence[Entry]) -> datetime:
    """Return a moment later than that of every entry: the last word about a day is what counts."""
    return visits.moment + timedelta(milliseconds=len(before))


def _identity(visit: Visit, said: str, ids: set[UUID], garden: UUID) -> UUID:
    """Return the first id of what is said that no entry has: what was taken back may be said again."""
    times = 0
    while (found := uuid5(garden, f"{visit.round} {visit.cycle} {visit.tree.id} {said} {times}")) in ids:
        times += 1
    ids.add(found)
    return found
