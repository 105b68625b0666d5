"""Parts of a tree that are followed by themselves: what the log says of each on a day."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any
from uuid import UUID

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from calendar_core.garden.model import Entry
    from calendar_core.knowledge.words import Directive, PartKind


MEASURES: Mapping[str, str] = {
    "width": "open width of a wound",
    "entry": "diameter of a graft before the trunk or branch it passes",
    "exit": "diameter of a graft behind it",
    "bite": "bark raised beside the wire",
    "dry": "length or width of the dry part",
    "diameter": "diameter of a shoot, branch or trunk",
    "length": "length of a shoot or root",
    "pairs": "leaf pairs grown on a shoot since the last cut",
    "height": "height of the tree",
    "girth": "girth of the trunk above the roots",
    "leaf": "width of a leaf",
}
"""What can be measured, all in millimetres but ``pairs``, a count."""

SHRINKING, GROWING = frozenset({"width"}), frozenset({"entry", "exit", "diameter", "girth"})
"""Measures that only get smaller, or larger, as time passes; the other way round is asked about."""


@dataclass(frozen=True, slots=True)
class Measure:
    """One measurement."""

    what: str
    value: float
    on: date


@dataclass(frozen=True, slots=True)
class Look:
    """One look that followed ``of``, an entry, by a rule of aftercare."""

    rule: str
    of: UUID
    on: date
    well: bool
    part: UUID | None = None


OF_ALL_PARTS = frozenset({"unwire"})
"""Work that is done to every part by being done to the tree as a whole: there is no wire left then."""


@dataclass(frozen=True, slots=True)
class Decision:
    """Work that was decided of a part on a day, in an entry, and done on another."""

    operation: str
    on: date
    entry: UUID
    done: date


@dataclass(slots=True)
class Part:
    """A part of a tree; ``began`` is the entry it was first written down with.

    ``directive`` says how it is treated: with "hold" at ``pairs`` leaf pairs, "undecided" until the stage
    ``decide_by``, "remove when replaced" by a part that is there ``instead_of`` it; ``directed`` is the day on which
    this was last said. ``gone`` is the day from which it is followed no more. ``decided`` is the operation that it is
    to get, said on ``decided_on`` in the entry ``decided_in``; ``carried_out`` are those that it got since.
    """

    id: UUID
    tree: UUID
    began: UUID
    since: date
    kind: PartKind = "branch"
    name: str = ""
    height_mm: float | None = None
    side: str = ""
    directive: Directive = "no directive"
    pairs: int = 1
    decide_by: str = ""
    instead_of: UUID | None = None
    directed: date | None = None
    gone: date | None = None
    decided: str = ""
    decided_on: date | None = None
    decided_in: UUID | None = None
    carried_out: list[Decision] = field(default_factory=list)
    measures: list[Measure] = field(default_factory=list)

    def last(self, what: str) -> Measure | None:
        """Return the latest measurement of something."""
        return next((reading for reading in reversed(self.measures) if reading.what == what), None)

    def course(self, what: str) -> list[Measure]:
        """Return all measurements of something, the oldest first."""
        return [reading for reading in self.measures if reading.what == what]


def change(parts: dict[UUID, Part], tree: UUID, entry: Entry) -> None:
    """Apply an entry about parts: each is made by the first that tells its kind, and goes if that is voided."""
    for identity in entry.part_ids:
        if "kind" in entry.data:
            parts.setdefault(identity, Part(identity, tree, entry.id, entry.happened))
        if identity in parts:
            _set(parts[identity], entry.happened, entry.data)
            _decide(parts[identity], entry)
    measure(parts, [], entry)


def carry_out(parts: Mapping[UUID, Part], entry: Entry) -> None:
    """End what was decided of the parts that work was done to."""
    operation = str(entry.data["operation"])
    of_all = operation in OF_ALL_PARTS and not entry.part_ids
    for part in parts.values():
        if part.decided != operation or not (of_all or part.id in entry.part_ids):
            continue
        if part.decided_on is not None and part.decided_in is not None:
            decision = Decision(operation, part.decided_on, part.decided_in, entry.happened)
            part.carried_out.append(decision)
        part.decided, part.decided_on, part.decided_in = "", None, None


def measure(parts: Mapping[UUID, Part], own: list[Measure], entry: Entry) -> None:
    """Add the values of an entry to the parts it names, or to the tree's own where it names none."""
    values = [Measure(str(what), float(value), entry.happened) for what, value in _values(entry.data).items()]
    for identity in entry.part_ids:
        if identity in parts:
            parts[identity].measures += values
    if not entry.part_ids:
        own += values


def _values(data: Mapping[str, Any]) -> Mapping[str, Any]:
    values: Mapping[str, Any] = data.get("values", {})
    return values


def _set(part: Part, on: date, data: Mapping[str, Any]) -> None:
    for name in ("kind", "name", "height_mm", "side", "directive", "pairs", "decide_by"):
        if name in data:
            setattr(part, name, data[name])
    if "directive" in data or "decide_by" in data:
        part.directed = on
    if "instead_of" in data:
        part.instead_of = UUID(str(data["instead_of"]))
    if "gone" in data:
        part.gone = on if data["gone"] else None


def _decide(part: Part, entry: Entry) -> None:
    """Take over what an entry says is to be done to a part, or that nothing is; then it is undecided no more."""
    if "decided" not in entry.data:
        return
    part.decided = str(entry.data["decided"])
    part.decided_on, part.decided_in = (entry.happened, entry.id) if part.decided else (None, None)
    if part.decided and part.directive == "undecided" and "directive" not in entry.data:
        part.directive, part.directed = "no directive", entry.happened
