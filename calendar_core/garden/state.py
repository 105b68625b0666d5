"""The state of a tree on a day: a fold over the log."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any
from uuid import UUID

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from calendar_core.garden.model import Aim, Entry, SizeClass

NOT_YET = "not yet "  # before a stage's name in a ``seen`` entry: looked, and it had not come


@dataclass(frozen=True, slots=True)
class Done:
    """An operation that was carried out."""

    operation: str
    on: date
    entry: UUID


@dataclass(frozen=True, slots=True)
class Wish:
    """An operation the grower asks for; ``anyway`` lets it stand beside another heavy job."""

    operation: str
    cycle: int | None
    anyway: bool = False


@dataclass(slots=True)
class TreeState:
    """What the log says of one tree on a day.

    ``moves`` are (day, spot) in order; ``seen`` are (stage, day) of stages that had come, ``not_yet`` of
    stages looked for in vain; ``put_off`` maps an item to the day until which it rests; ``dropped`` are
    items answered with "not this year".
    """

    aim: Aim = "structure"
    vigour: int = 3
    size: SizeClass = "medium"
    spot: UUID | None = None
    pot_litres: float | None = None
    moves: list[tuple[date, UUID]] = field(default_factory=list)
    done: list[Done] = field(default_factory=list)
    seen: list[tuple[str, date]] = field(default_factory=list)
    not_yet: list[tuple[str, date]] = field(default_factory=list)
    wishes: list[Wish] = field(default_factory=list)
    put_off: dict[UUID, date] = field(default_factory=dict)
    dropped: set[UUID] = field(default_factory=set)

    def last(self, operation: str) -> Done | None:
        """Return the latest time ``operation`` was done."""
        times = [done for done in self.done if done.operation == operation]
        return max(times, key=lambda done: done.on) if times else None


def valid_entries(entries: Iterable[Entry], on: date) -> list[Entry]:
    """Return the entries that count on a day, in order: voided ones and the voids themselves are gone.

    A void of a void restores nothing: voiding is final, write the entry again.
    """
    known = {e.id: e for e in entries if e.happened <= on}  # an entry that came twice is one entry
    listed = sorted(known.values(), key=lambda e: (e.happened, e.recorded_at, e.id))
    voided = {e.voids for e in listed if e.voids is not None}
    return [e for e in listed if e.id not in voided and e.voids is None]


def chosen(entries: Iterable[Entry], on: date) -> dict[str, str]:
    """Return the garden's answers to questions on which growers differ, as of a day."""
    return {
        str(entry.data["question"]): str(entry.data["option"])
        for entry in valid_entries(entries, on)
        if entry.kind == "choice"
    }


def states(tree_ids: Sequence[UUID], entries: Iterable[Entry], on: date) -> dict[UUID, TreeState]:
    """Return the state of every tree at the end of day ``on``."""
    out = {tree: TreeState() for tree in tree_ids}
    for entry in valid_entries(entries, on):
        for tree in entry.tree_ids:
            if tree in out:
                _apply(out[tree], entry)
    return out


def _apply(state: TreeState, entry: Entry) -> None:
    data = entry.data
    if entry.kind == "state":
        _change(state, entry.happened, data)
    elif entry.kind == "work":
        state.done.append(Done(data["operation"], entry.happened, entry.id))
        # A wish for a named cycle is met by work of that cycle; one without by the first work after it.
        state.wishes = [w for w in state.wishes if w.operation != data["operation"] or w.cycle is not None]
    elif entry.kind == "seen":
        stage = str(data["stage"])
        if stage.startswith(NOT_YET):
            state.not_yet.append((stage.removeprefix(NOT_YET), entry.happened))
        else:
            state.seen.append((stage, entry.happened))
    elif entry.kind == "wish":
        state.wishes.append(Wish(data["operation"], data.get("cycle"), bool(data.get("anyway", False))))
    elif entry.kind == "answer":
        item = UUID(str(data["item"]))
        if data["answer"] == "put off":
            state.put_off[item] = date.fromisoformat(str(data["until"]))
        else:
            state.dropped.add(item)


def _change(state: TreeState, on: date, data: Mapping[str, Any]) -> None:
    for name in ("aim", "vigour", "size", "pot_litres"):
        if name in data:
            setattr(state, name, data[name])
    if "spot" in data:
        state.spot = UUID(str(data["spot"]))
        state.moves.append((on, state.spot))
