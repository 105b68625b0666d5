"""Shoots held at a number of leaf pairs: when they have grown out and want cutting back again."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.items import Item, NotPlanned, Reason, item_id
from calendar_core.planning.seasons.phases import EVERGREEN_GROWTH, upcoming
from calendar_core.planning.waits import in_time, overdue
from calendar_core.science.tree.growth import learned_heat_per_pair, pairs_reached

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date
    from uuid import UUID

    from numpy.typing import NDArray

    from calendar_core.garden.model import Tree
    from calendar_core.garden.parts import Part
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.seasons.phases import Phases

    Floats = NDArray[np.float64]

CUT_BACK, HOLD = "cut back", "hold"
IN_TIME_DAYS = 21  # a shoot may run on so long before it thickens its branch (estimate)


@dataclass(frozen=True)
class HeldShoots:
    """The held parts of the trees of one species."""

    garden: UUID
    species: str
    knowledge: Knowledge

    def found(self, tree: Tree, state: TreeState, phases: Phases) -> Iterator[Item | NotPlanned]:
        """Yield for each held part of a tree the next time it is to be cut back, and the times it was."""
        for part in state.open_parts:
            if part.directive == HOLD:
                yield from self._times(tree, state, part, phases)

    def _times(self, tree: Tree, state: TreeState, part: Part, phases: Phases) -> Iterator[Item | NotPlanned]:
        held_since = part.directed or part.since
        cuts = [done for done in state.done if part.id in done.parts and self._cuts(done.operation)]
        days = [done.on for done in cuts]
        for n, done in enumerate(cuts):
            cycle = phases.stages.calendar.cycle(max([held_since, *days[:n]]))
            reason = Reason("done", subject=done.operation, found=done.on)
            yield NotPlanned(tree.id, CUT_BACK, _rule(part, n), cycle, (reason,))
        yield self._next(tree, state, part, phases, days, max([held_since, *days]))

    def _next(
        self, tree: Tree, state: TreeState, part: Part, phases: Phases, cuts: list[date], since: date
    ) -> Item | NotPlanned:
        calendar = phases.stages.calendar
        cycle, let_grow = calendar.cycle(since), part.pairs + self.knowledge.growth.pairs.let_grow.value
        identity = item_id(self.garden, f"{tree.id}|{part.id}", HOLD, cycle, len(cuts))
        rests = calendar.next_start(state.dropped[identity]) if identity in state.dropped else since
        absent = NotPlanned(tree.id, CUT_BACK, _rule(part, len(cuts)), cycle, (Reason("look_unknown"),))
        if phases.stages.today < rests:
            return replace(absent, reasons=(Reason("dropped", subject=CUT_BACK),))
        labels = self._grown_out(part, cuts, phases, let_grow, phases.stages.axis.index(max(since, rests)))
        if identity in state.put_off:
            labels = np.maximum(labels, phases.stages.axis.index(state.put_off[identity]))
        opens = phases.range_of(labels)
        if opens is None:
            return absent
        form, closes = self.knowledge.operations[CUT_BACK], in_time(opens, IN_TIME_DAYS, phases.stages.today)
        pairs = "one pair" if part.pairs == 1 else f"{part.pairs} pairs"
        return Item(
            identity, tree.id, self.species, CUT_BACK, _rule(part, len(cuts)), cycle, state.aim, opens, closes, 1.0, "due",
            f"Where the shoots have grown to {let_grow:g} pairs or more, cut them back to {pairs}; count them when you look, and the next date learns from it.",
            (*self._reasons(part, since, let_grow), *overdue(opens, phases.stages.today)), form.cautions, len(cuts), shared=True, label=f"Cut back to {pairs}",
            part=part.name, part_id=part.id, done=form.done, measure=("pairs",),
        )  # fmt: skip

    def _grown_out(self, part: Part, cuts: list[date], phases: Phases, pairs: float, since: int) -> Floats:
        """Return when shoots have grown so many pairs since a day.

        What growth stop cuts short begins anew next spring, and so does what nobody had cut when the tree came to rest.
        """
        rule = self.knowledge.growth.pairs
        counted = _counted(part, cuts, phases)
        learned = learned_heat_per_pair(math.log(rule.heat_per_pair.value), rule.spread_ln.value, counted)
        stops, out = phases.begins("stop"), np.full(1, np.inf)
        if phases.stages.profile.habit != EVERGREEN_GROWTH:
            now = phases.stages.axis.index(phases.stages.today)
            since = max([since, *(day for day in phases.likely("rest") if day <= now)])
        for begin in (since, *(day for day in phases.likely("growth") if day > since)):
            labels = pairs_reached(phases.heat, float(begin), pairs, learned).ravel()
            if stops and phases.stages.profile.habit != EVERGREEN_GROWTH:
                labels = np.where(labels < upcoming(stops, float(begin)), labels, np.inf)
            out = np.minimum(out, labels)
        return out

    def _cuts(self, operation: str) -> bool:
        return self.knowledge.operations[operation].takes in ("wood", "leaves")

    def _reasons(self, part: Part, since: date, let_grow: float) -> tuple[Reason, ...]:
        rule = self.knowledge.growth.pairs
        held = Reason("held", subject=part.kind, found=since, needed=let_grow, basis=rule.let_grow.basis)
        last = part.last("pairs")
        counted = () if last is None else (Reason("counted", found=last.value, needed=last.on),)
        return (held, *counted)


def _rule(part: Part, cut: int) -> str:
    return f"{HOLD}#{part.id.hex[:8]}.{cut}"


def _counted(part: Part, cuts: list[date], phases: Phases) -> list[tuple[float, float]]:
    """Return pairs counted with the heat since the cut before."""
    out = []
    for count in part.course("pairs"):
        before = max([part.since, *(day for day in cuts if day < count.on)])
        heat = phases.heat_on(count.on) - phases.heat_on(before)
        out.append((count.value, heat))
    return out
