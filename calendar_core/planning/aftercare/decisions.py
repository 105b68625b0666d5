"""What was decided of parts, as items: in the next window of the work, or at once where its kind of tree has none."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.state import asked_for_anyway
from calendar_core.knowledge.forms.operations import HEAVY
from calendar_core.planning.items import DECIDED, OF_PART, PUBLISH_FROM, Item, NotPlanned, Reason, item_id
from calendar_core.planning.seasons.phases import Phases
from calendar_core.planning.waits import WEEK, in_time

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.garden.model import Tree
    from calendar_core.garden.parts import Part
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.items import Middles, Range
    from calendar_core.planning.seasons.species_stages import SpeciesStages

OF_GRAFT = (
    "graft_ratio",
    "graft_ready",
    "graft_waits",
)  # what is measured of a graft tells before it is severed


@dataclass(frozen=True)
class _Case:
    """A part of which an operation was decided."""

    tree: Tree
    group: int
    state: TreeState
    part: Part
    on: date
    identity: UUID

    @property
    def rule(self) -> str:
        return _rule(self.part.decided, self.part)


class SpeciesDecisions:
    """The items of what was decided of the parts of one species' trees, and the looks in whose place they stand.

    ``of_parts`` are the windows of decided works, and why there is none; ``looks`` the looks that are due.
    """

    def __init__(
        self,
        species: str,
        stages: SpeciesStages,
        knowledge: Knowledge,
        of_parts: Iterable[Item | NotPlanned],
        middles: Mapping[UUID, Middles],
        looks: Iterable[Item],
    ) -> None:
        self.species, self.stages, self.knowledge, self.middles = species, stages, knowledge, middles
        self.items: list[Item] = []
        self.absent: list[NotPlanned] = []
        self.instead: dict[UUID, NotPlanned] = {}
        self._windows: dict[tuple[UUID, str], list[Item | NotPlanned]] = {}
        for window in of_parts:
            self._windows.setdefault((window.tree_id, window.operation), []).append(window)
        self._looks: dict[tuple[UUID, UUID | None], list[Item]] = {}
        for look in looks:
            self._looks.setdefault((look.tree_id, look.part_id), []).append(look)
        for tree, group in stages.where:
            state = stages.grove.states[tree.id]
            for part in state.parts.values():
                self._part(tree, group, state, part)

    def _part(self, tree: Tree, group: int, state: TreeState, part: Part) -> None:
        """Add the item of one part, what it got, and that what is gone gets nothing any more."""
        cycle, open_in = self.stages.calendar.cycle, None
        if part.decided and part.decided_on is not None and part.gone is None:
            subject = f"{tree.id}|{part.decided_in}|{part.id}"
            identity = item_id(
                self.stages.grove.garden.id, subject, DECIDED + part.decided, cycle(part.decided_on)
            )
            found = self._found(_Case(tree, group, state, part, part.decided_on, identity))
            open_in = (found.rule, found.cycle)
            if isinstance(found, Item):
                self.items.append(found)
            else:
                self.absent.append(found)
        over = [(done.operation, done.on, done.done, "done") for done in part.carried_out]
        if part.decided and part.decided_on is not None and part.gone is not None:
            over.append((part.decided, part.decided_on, part.gone, "ended"))
        for operation, on, done, code in over:
            reason = Reason(code, subject=operation, found=done)
            for of in sorted(self._cycles(tree, operation, on, done)):
                if (_rule(operation, part), of) != open_in:
                    self.absent.append(NotPlanned(tree.id, operation, _rule(operation, part), of, (reason,)))

    def _cycles(self, tree: Tree, operation: str, on: date, done: date) -> set[int]:
        """Return the cycles in which what was decided can have been planned until it was done."""
        calendar, middles = self.stages.calendar, self.middles[tree.id].get(operation, ())
        ahead = min((cycle for cycle, middle in middles if middle >= done), default=calendar.cycle(done))
        return {calendar.cycle(on), calendar.belongs(done, middles), ahead}

    # -- one decision ---------------------------------------------------------------------------------

    def _found(self, case: _Case) -> Item | NotPlanned:
        """Return the item of a part; a look that asks for the same is left out, and is met no later."""
        calendar, today = self.stages.calendar, self.stages.today
        dropped, put_off = case.state.dropped.get(case.identity), case.state.put_off.get(case.identity)
        rests = None if dropped is None else calendar.next_start(dropped)
        if rests is not None and today < rests:
            reason = Reason("dropped", subject=case.part.decided)
            return self._absent(case, calendar.cycle(today), (reason,))
        first = max(day for day in (case.on, rests, put_off) if day is not None)
        found = self._in_window(case, first) if self._seasonal(case) else self._at_once(case, first)
        about = (Reason("put_off", found=put_off),) if put_off is not None else ()
        asking = self._asking(case)
        if asking and first == case.on:
            look = min(asking, key=lambda look: look.opens.likely)
            if isinstance(found, NotPlanned) or look.opens.likely < found.opens.likely:
                found = self._item(case, look.opens, look.closes, look.reasons)
        if isinstance(found, NotPlanned):
            return found
        for look in asking:
            reason = Reason("planned_before", subject=found.operation, found=found.opens.likely)
            self.instead[look.id] = NotPlanned(look.tree_id, look.operation, look.rule, look.cycle, (reason,))
        return replace(found, reasons=(*found.reasons, *about))

    def _seasonal(self, case: _Case) -> bool:
        """Tell whether it waits for the window that the tree's kind has for such work."""
        form = self.knowledge.operations[case.part.decided].of_part
        at_once = form is not None and form.at_once
        return not at_once and any(work.operation == case.part.decided for work in self.stages.profile.work)

    def _in_window(self, case: _Case, first: date) -> Item | NotPlanned:
        """Return it in the next window of its work that is not over by a day, or why there is none."""
        windows = self._windows.get((case.tree.id, case.part.decided), [])
        open_still = [
            window for window in windows if isinstance(window, Item) and window.closes.likely >= first
        ]
        found = min(
            open_still,
            key=lambda window: (window.chance < PUBLISH_FROM, window.opens.likely, window.rule),
            default=None,
        )
        if found is None:
            why = next((window for window in windows if isinstance(window, NotPlanned)), None)
            cycle = why.cycle if why else self.stages.calendar.cycle(self.stages.today)
            return self._absent(case, cycle, why.reasons if why else (Reason("look_unknown"),))
        return replace(
            found,
            id=case.identity,
            rule=case.rule,
            opens=_not_before(found.opens, first) if first > case.on else found.opens,
            reasons=(
                self._decided(case),
                *(reason for reason in found.reasons if reason.code != "wished"),
            ),
            part=case.part.name,
            part_id=case.part.id,
        )

    def _at_once(self, case: _Case, first: date) -> Item | NotPlanned:
        """Return it from a day on, or from when its season opens; a second heavy job waits for the next cycle."""
        form, stages = self.knowledge.operations[case.part.decided].of_part, self.stages
        assert form is not None  # noqa: S101 - else it could not be decided
        heavy = self._heavy_done(case)
        if heavy:
            first = max(first, stages.calendar.next_start(stages.today))
        labels = np.array([float(stages.axis.index(first))])
        phases = Phases(stages, case.group, self.knowledge.growth.heat.base_c)
        opens = phases.range_of(phases.in_season(labels, form.season) if form.season else labels)
        if opens is None:
            return self._absent(case, stages.calendar.cycle(first), (Reason("look_unknown"),))
        days = round(form.weeks * WEEK)
        until, closes = opens.likely + timedelta(days=days), in_time(opens, days, stages.today)
        late = [Reason("overdue", found=until)] if until < stages.today else []
        return self._item(case, opens, closes, (*heavy, *late))

    def _heavy_done(self, case: _Case) -> list[Reason]:
        """Return the other heavy job that its tree had in this cycle, as a wish is held against it."""
        operations, middles = self.knowledge.operations, self.middles[case.tree.id]
        calendar, operation = self.stages.calendar, case.part.decided
        cycle = calendar.cycle(self.stages.today)
        if operations[operation].weight < HEAVY or asked_for_anyway(operation, case.state, cycle):
            return []
        others = [
            done
            for done in case.state.done
            if done.operation != operation
            and operations[done.operation].weight >= HEAVY
            and calendar.belongs(done.on, middles.get(done.operation, ())) == cycle
        ]
        return [Reason("heavy_done", subject=done.operation, found=done.on) for done in others[-1:]]

    def _asking(self, case: _Case) -> list[Item]:
        """Return the looks at its part that ask for the same work."""
        operation, out = case.part.decided, []
        for look in self._looks.get((case.tree.id, case.part.id), ()):
            form = None if look.follows is None else self.knowledge.aftercare[look.follows.rule]
            if form is None:
                continue
            if form.does == operation or (look.label == form.ready and operation in form.ends.after):
                out.append(look)
        return out

    def _item(self, case: _Case, opens: Range, closes: Range, reasons: Sequence[Reason]) -> Item:
        """Return an item that is due on a day, as looks are."""
        operation = case.part.decided
        form = self.knowledge.operations[operation]
        assert form.of_part is not None  # noqa: S101 - else it could not be decided
        looks = self._looks.get((case.tree.id, case.part.id), ())
        told = [reason for look in looks for reason in look.reasons if reason.code in OF_GRAFT]
        about = dict.fromkeys((self._decided(case), *told, *reasons))
        return Item(
            case.identity, case.tree.id, self.species, operation, case.rule, self.stages.calendar.cycle(opens.likely),
            case.state.aim, opens, closes, 1.0, "wished", form.of_part.how, tuple(about), form.cautions, shared=True,
            label=form.label, part=case.part.name, part_id=case.part.id, done=form.done,
        )  # fmt: skip

    def _decided(self, case: _Case) -> Reason:
        form = self.knowledge.operations[case.part.decided].of_part
        basis, note = (form.basis, form.note or "") if form and not self._seasonal(case) else ("", "")
        return Reason("decided", subject=case.part.decided, found=case.on, basis=basis, note=note)

    def _absent(self, case: _Case, cycle: int, reasons: tuple[Reason, ...]) -> NotPlanned:
        return NotPlanned(case.tree.id, case.part.decided, case.rule, cycle, (self._decided(case), *reasons))


def _rule(operation: str, part: Part) -> str:
    return f"{DECIDED}{operation}{OF_PART}{part.id.hex[:8]}"


def _not_before(days: Range, first: date) -> Range:
    return replace(
        days, early=max(days.early, first), likely=max(days.likely, first), late=max(days.late, first)
    )
