"""Before a cut: what of a tree's own state to look at first, made from its log alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.planning.aftercare.followed import concerns

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from calendar_core.garden.parts import Measure, Part
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.aftercare.followed import Followed

FIRST = ("dieback", "apex")  # kinds of part that are looked at before any other


@dataclass(frozen=True, slots=True)
class Noted:
    """One part or piece of work with what speaks of it: a concern's rule, a directive, or what was regretted.

    Of a concern, whose last look went ``badly``, also how its part is treated and the last two measures of each kind.
    """

    name: str
    kind: str
    about: str
    on: date
    badly: bool = False
    directive: str = ""
    measures: tuple[Measure, ...] = ()


@dataclass(frozen=True, slots=True)
class Card:
    """What to look at before an operation: first of all, what stays, what is undecided, what was regretted."""

    operation: str
    look_first: tuple[Noted, ...]
    keep: tuple[Noted, ...]
    held: tuple[Noted, ...]
    undecided: tuple[Noted, ...]
    regretted: tuple[Noted, ...]

    @property
    def empty(self) -> bool:
        """Whether there is nothing to tell."""
        return not (self.look_first or self.keep or self.held or self.undecided or self.regretted)


def before_cut(state: TreeState, operation: str, knowledge: Knowledge, today: date) -> Card:
    """Return the card of a tree before an operation on a day."""
    worries = [
        _worry(concern, knowledge.aftercare[concern.rule].measure)
        for concern in concerns(state, knowledge.aftercare, today)
    ]
    parts = state.open_parts
    first = [
        _noted(part, part.directive) for part in parts if part.kind in FIRST or part.directive == "watch"
    ]
    told = {(worry.name, worry.kind) for worry in worries}
    kept = [p for p in parts if p.kind == "graft" or p.directive in ("grow free", "keep as backup")]
    replaced = {part.instead_of: part for part in parts if part.instead_of is not None}
    waiting = [part for part in parts if part.directive == "remove when replaced" or part.id in replaced]
    return Card(
        operation,
        (*worries, *(noted for noted in first if (noted.name, noted.kind) not in told)),
        tuple(_noted(part, part.directive) for part in (*kept, *(w for w in waiting if w not in kept))),
        tuple(_noted(part, f"{part.pairs}") for part in parts if part.directive == "hold"),
        tuple(
            _noted(part, part.decide_by or part.directive) for part in parts if part.directive == "undecided"
        ),
        tuple(
            Noted("", done.operation, done.regret, done.on) for done in reversed(state.done) if done.regret
        ),
    )


def _worry(concern: Followed, measured: Iterable[str]) -> Noted:
    part = concern.part
    if part is None:
        return Noted("", "", concern.rule, concern.since, badly=True)
    last = tuple(measure for what in measured for measure in part.course(what)[-2:])
    return Noted(
        part.name, part.kind, concern.rule, concern.since, badly=True, directive=part.directive, measures=last
    )


def _noted(part: Part, about: str) -> Noted:
    return Noted(part.name, part.kind, about, part.since)
