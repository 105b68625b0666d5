"""The planner: from garden, log, weather and knowledge to a plan. Pure; ``today`` is an argument."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.cycle import cycle_start, cycles_at
from calendar_core.planning.air import Air
from calendar_core.planning.anchors import Cycle
from calendar_core.planning.axis import HORIZON_DAYS, axis_for
from calendar_core.planning.due import HEAVY, Calendar, Decision, decide
from calendar_core.planning.items import Item, NotPlanned, Plan, Range, Reason, StageDate, item_id
from calendar_core.planning.learned import taught
from calendar_core.planning.stage_run import Group, StageRun
from calendar_core.planning.windows import Summary, Variant, Window, quantiles, summarise, window

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from uuid import UUID

    from numpy.typing import NDArray

    from calendar_core.garden.model import Garden, Spot, Tree
    from calendar_core.garden.state import TreeState
    from calendar_core.garden.thermal import History
    from calendar_core.planning.axis import Axis
    from calendar_core.species.schema import Knowledge, Profile, Work
    from calendar_core.weather.traces import Traces

    Floats = NDArray[np.float64]

SOON_DAYS = 30  # where a tree stands now says where it will stand for so long
SURE_ENOUGH = 0.5  # below this chance an item is neither published nor counted as a tree's heavy job


@dataclass(frozen=True)
class Grove:
    """What is planned for: a garden with its spots, trees and their states, as of the day of the plan."""

    garden: Garden
    spots: Mapping[UUID, Spot]
    trees: Sequence[Tree]
    states: Mapping[UUID, TreeState]


@dataclass(frozen=True)
class Sky:
    """The weather a plan rests on.

    ``climate_c`` gives the mean year's daily mean for an axis (n_days,), ``past`` the measured air of a
    past cycle (None where too little was measured).
    """

    traces: Traces
    climate_c: Callable[[Axis], Floats]
    past: Callable[[int], Air | None]


def cycles_of(garden: Garden, today: date) -> tuple[int, int]:
    """Return the first and last cycle that any tree of the garden is planned in."""
    south = garden.latitude < 0
    cycles = [c for start in (garden.leaf_fall, garden.coldest) for c in cycles_at(today, start, south=south)]
    return min(cycles), max(cycles)


def axis_of(garden: Garden, today: date) -> Axis:
    """Return the axis a plan of this day runs on: the traces must cover it."""
    first, last = cycles_of(garden, today)
    return axis_for(garden.latitude, tuple(range(first, last + 1)))


def make_plan(grove: Grove, sky: Sky, knowledge: Knowledge, today: date) -> Plan:
    """Return the plan of a garden on a day.

    Items whose window is over, or opens more than fourteen months ahead, are left out. The traces in
    ``sky`` must start and end with `axis_of` and hold nothing measured after ``today``.
    """
    axis = axis_of(grove.garden, today)
    frost_c = knowledge.hazards.frost["first_frost"].screen_min_c
    air = Air(axis, sky.traces.t_min_c, sky.traces.t_max_c, sky.climate_c(axis), frost_c)
    by_species: dict[str, list[Tree]] = {}
    for tree in grove.trees:
        by_species.setdefault(tree.species, []).append(tree)
    items: list[Item] = []
    absent: list[NotPlanned] = []
    stages: dict[UUID, tuple[StageDate, ...]] = {}
    for species, trees in sorted(by_species.items()):
        one = _Species(grove, sky, knowledge, today, air, species, trees)
        one.plan()
        items += one.items
        absent += one.absent
        stages |= one.stages
    chosen, crowded = one_heavy_job(items, knowledge, grove.states)
    order = sorted(chosen, key=lambda i: (i.opens.likely, i.operation, str(i.tree_id)))
    return Plan(today, tuple(order), (*absent, *crowded), stages, sky.traces.known)


class _Species:
    """The part of a plan that belongs to one species."""

    def __init__(
        self,
        grove: Grove,
        sky: Sky,
        knowledge: Knowledge,
        today: date,
        air: Air,
        species: str,
        trees: Sequence[Tree],
    ) -> None:
        self.grove, self.sky, self.knowledge, self.today, self.air = grove, sky, knowledge, today, air
        self.axis, self.species, self.trees = air.axis, species, trees
        self.profile: Profile = knowledge.profiles[species]
        garden = grove.garden
        self.calendar = Calendar(
            cycle_start(garden, deciduous=self.profile.habit == "deciduous"), south=garden.latitude < 0
        )
        self.cycles = cycles_at(today, self.calendar.start, south=self.calendar.south)
        self.items: list[Item] = []
        self.absent: list[NotPlanned] = []
        self.stages: dict[UUID, tuple[StageDate, ...]] = {}

    def plan(self) -> None:
        batches: dict[History, list[tuple[Tree, tuple[Group, ...]]]] = {}
        for tree in self.trees:
            groups = self._groups(tree)
            batches.setdefault(groups[0].history, []).append((tree, groups))
        for batch in batches.values():
            kinds = list(dict.fromkeys(groups for _, groups in batch))
            place = {groups: i for i, groups in enumerate(kinds)}
            where = [(tree, place[groups]) for tree, groups in batch]
            self._batch(kinds, where)

    # -- groups ---------------------------------------------------------------------------------------

    def _history(self, state: TreeState, axis: Axis) -> History:
        spots = self.grove.spots
        moves = [(axis.index(day), spots[spot].profile) for day, spot in state.moves if spot in spots]
        if moves:  # where a tree stood before its first entry is taken to be where it came to stand
            moves[0] = (min(moves[0][0], 0), moves[0][1])
        return () if all(profile == "open" for _, profile in moves) else tuple(moves)

    def _groups(self, tree: Tree) -> tuple[Group, ...]:
        state = self.grove.states[tree.id]
        history = self._history(state, self.axis)
        seen = [
            (stage, self.calendar.cycle(day), day)
            for stage, day in state.seen
            if stage in self.profile.stages
        ]
        not_yet = [
            (stage, self.calendar.cycle(day), day)
            for stage, day in state.not_yet
            if stage in self.profile.stages
        ]
        out = []
        for cycle in (self.cycles[0] - 1, *self.cycles):
            past = tuple((stage, c, day.toordinal()) for stage, c, day in seen if c < cycle)
            known = taught(self.profile, past, self.sky.past, lambda air: self._history(state, air.axis))
            out.append(
                Group(
                    history,
                    known.needs,
                    known.autumn,
                    tuple((stage, self.axis.index(day)) for stage, c, day in seen if c == cycle),
                    tuple((stage, self.axis.index(day)) for stage, c, day in not_yet if c == cycle),
                )
            )
        return tuple(out)

    # -- stages and windows ---------------------------------------------------------------------------

    def _batch(self, kinds: Sequence[tuple[Group, ...]], where: Sequence[tuple[Tree, int]]) -> None:
        dormant = self._dormant_before(kinds)
        for at, cycle in enumerate(self.cycles, start=1):
            season = StageRun(self.air, self.profile, cycle, [groups[at] for groups in kinds]).run()
            labels = {"dormant": dormant, **season.labels}
            self._stage_dates(labels, [groups[at] for groups in kinds], where, cycle)
            context = Cycle(self.air, self.profile, cycle, labels)
            for work in self.profile.work:
                self._work(window(work, context), context, where, season.no_winter)
            if self.profile.habit == "deciduous":
                dormant = labels["leaf_fall"]
            else:
                dormant = np.full((1, 1, 1), self._coldest(cycle + 1))

    def _coldest(self, cycle: int) -> float:
        start = self.calendar.start
        year = cycle if self.axis.south or start.month < 7 else cycle - 1
        return float(self.axis.index(date(year, start.month, start.day)))

    def _dormant_before(self, kinds: Sequence[tuple[Group, ...]]) -> Floats:
        """Return the leaf fall with which the first cycle begins."""
        first = self.cycles[0]
        if self.profile.habit != "deciduous":
            return np.full((1, 1, 1), self._coldest(first))
        names, name = [], "leaf_fall"
        while name:
            names.append(name)
            rule = self.profile.stages[name].after
            name = rule.stage if rule else ""
        return (
            StageRun(self.air, self.profile, first - 1, [groups[0] for groups in kinds])
            .run(names)
            .labels["leaf_fall"]
        )

    def _range(self, quantiles_: Floats) -> Range | None:
        if not np.isfinite(quantiles_).all():
            return None
        return Range(*(self.axis.day(float(label)) for label in quantiles_))

    def _stage_dates(
        self,
        labels: Mapping[str, Floats],
        groups: Sequence[Group],
        where: Sequence[tuple[Tree, int]],
        cycle: int,
    ) -> None:
        n = len(groups)
        rows: list[list[StageDate]] = [[] for _ in range(n)]
        for name, stage in self.profile.stages.items():
            wide = np.broadcast_to(labels[name], (labels[name].shape[0], n, labels[name].shape[2]))
            has = np.isfinite(wide)
            q, share = quantiles(wide, has), has.mean(axis=(0, 2))
            for g in range(n):
                seen = name in dict(groups[g].seen)
                rows[g].append(
                    StageDate(
                        name,
                        stage.bbch,
                        cycle,
                        self._range(q[:, g]),
                        float(share[g]),
                        seen,
                        stage.basis,
                        stage.source or "",
                        stage.note or "",
                    )
                )
        for tree, g in where:
            self.stages[tree.id] = (*self.stages.get(tree.id, ()), *rows[g])

    def _work(self, one: Window, at: Cycle, where: Sequence[tuple[Tree, int]], no_winter: Floats) -> None:
        fed, cycle = one.work.requires.fed_since, at.cycle
        cases: list[tuple[Tree, Variant, Decision]] = []
        for tree, g in where:
            fed_from = self._likely(at.stages[fed], g) if fed else None
            cases.append(self._case(one.work, tree, g, cycle, fed_from))
        variants = sorted({variant for _, variant, _ in cases})
        place = {variant: i for i, variant in enumerate(variants)}
        found = summarise(one, variants, today=self.axis.index(self.today), end=at.end - 1)
        ranges = [
            (self._range(found.opens[:, v]), self._range(found.closes[:, v])) for v in range(len(variants))
        ]
        for tree, variant, decision in cases:
            v = place[variant]
            opens, closes = ranges[v]
            self._one(
                one, tree, cycle, decision, variant, found, v, opens, closes, float(no_winter[variant.group])
            )

    def _likely(self, labels: Floats, g: int) -> date | None:
        part = labels[:, min(g, labels.shape[1] - 1), :]
        finite = part[np.isfinite(part)]
        day = self.axis.day(float(np.quantile(finite, 0.1))) if finite.size else None
        return day if day is not None and day <= self.today else None  # what lies ahead can still be fed for

    def _case(
        self, work: Work, tree: Tree, g: int, cycle: int, fed_from: date | None
    ) -> tuple[Tree, Variant, Decision]:
        state = self.grove.states[tree.id]
        decision = decide(work, state, cycle, self.calendar, fed_from, self.knowledge.operations)
        put_off = state.put_off.get(self._id(tree, work, cycle))
        days = [self.axis.index(day) - 1.0 for day in (decision.not_before, put_off) if day is not None]
        half = {"large": "first", "small": "second"}.get(state.size, "whole") if work.by_size else "whole"
        return tree, Variant(g, max(days, default=-np.inf), half), decision

    def _id(self, tree: Tree, work: Work, cycle: int) -> UUID:
        return item_id(self.grove.garden.id, tree.id, work.key, cycle)

    def _one(
        self,
        one: Window,
        tree: Tree,
        cycle: int,
        decision: Decision,
        variant: Variant,
        found: Summary,
        v: int,
        opens: Range | None,
        closes: Range | None,
        no_winter: float,
    ) -> None:
        work, state, identity = one.work, self.grove.states[tree.id], self._id(tree, one.work, cycle)
        against = list(decision.against)
        if identity in state.dropped:
            against.append(Reason("dropped", subject=work.operation))
        against += self._heavy_done(work, state, cycle)
        if opens is None or closes is None:
            against += self._no_window(one, variant.group, no_winter)
        elif opens.likely > self.today + timedelta(days=HORIZON_DAYS):
            return
        elif opens.likely <= self.today + timedelta(days=SOON_DAYS):
            against += self._misplaced(work, state)
        if against or opens is None or closes is None or decision.status is None:
            self.absent.append(NotPlanned(tree.id, work.operation, work.key, cycle, tuple(against)))
            return
        reasons = [
            r for r in decision.reasons if r.code not in ("hold", "again") or _hold_end(r) >= opens.early
        ]
        reasons += self._window_reasons(one, variant, int(found.binding[v]))
        if identity in state.put_off:
            reasons.append(Reason("put_off", found=state.put_off[identity]))
        operation = self.knowledge.operations[work.operation]
        self.items.append(
            Item(
                identity, tree.id, self.species, work.operation, work.key, cycle, state.aim, opens, closes,
                float(found.chance[v]), decision.status, work.how, tuple(reasons),
                tuple(dict.fromkeys((*work.cautions, *operation.cautions))),
            )
        )  # fmt: skip

    def _misplaced(self, work: Work, state: TreeState) -> list[Reason]:
        """Return why a move makes no sense from where the tree stands as its window comes."""
        spot = self.grove.spots.get(state.spot) if state.spot else None
        stands = "open" if spot is None or spot.profile == "open" else "sheltered"
        wanted = work.requires.stands
        return [Reason(f"stands_{stands}")] if wanted is not None and wanted != stands else []

    def _heavy_done(self, work: Work, state: TreeState, cycle: int) -> list[Reason]:
        """Return the heavy job the log holds for this cycle: it leaves no room for another not asked for anyway."""
        operations = self.knowledge.operations
        if operations[work.operation].weight < HEAVY or any(
            w.anyway for w in state.wishes if w.operation == work.operation
        ):
            return []
        others = [
            done
            for done in state.done
            if done.operation != work.operation
            and self.calendar.cycle(done.on) == cycle
            and operations[done.operation].weight >= HEAVY
        ]
        return [Reason("heavy_done", subject=others[-1].operation, found=others[-1].on)] if others else []

    def _window_reasons(self, one: Window, variant: Variant, binding: int) -> list[Reason]:
        """Return the facts that open and close the window, each with its likely date, in that order."""
        opening, closing = one.opens, one.closing[binding]
        first = replace(
            opening.reason, code=f"opens_{opening.reason.code}", found=self._likely_of(opening.fact, variant)
        )
        last = replace(
            closing.reason, code=f"closes_{closing.reason.code}", found=self._likely_of(closing.fact, variant)
        )
        halves = {"first": "large_first", "second": "small_last"}
        size = [Reason(halves[variant.half], basis=one.work.basis)] if variant.half in halves else []
        after = one.work.requires.after_stage
        stage = [Reason("after_stage", subject=after, basis=one.work.basis)] if after else []
        return [first, *stage, last, *size]

    def _likely_of(self, labels: Floats, variant: Variant) -> date | None:
        part = labels[:, min(variant.group, labels.shape[1] - 1), :]
        finite = part[np.isfinite(part)]
        return self.axis.day(float(np.median(finite))) if finite.size else None

    def _no_window(self, one: Window, group: int, no_winter: float) -> list[Reason]:
        """Why no member has the window, or none has it any more."""
        if no_winter > SURE_ENOUGH:
            return [Reason("no_winter")]
        opens = self._likely_of(one.opens.labels, Variant(group))
        closes = self._likely_of(one.closes, Variant(group))
        if opens is None:
            opening = one.opens.reason
            subject = opening.subject if opening.code == "stage" else opening.code
            return [Reason("never_opens", subject=subject, needed=opening.needed, unit=opening.unit)]
        if closes is not None and closes < self.today:
            return [Reason("over", found=closes)]
        return [Reason("closes_before_opening", found=closes, needed=opens)]


def _hold_end(reason: Reason) -> date:
    assert isinstance(reason.found, date)  # noqa: S101 - holds carry the date of their operation
    assert isinstance(reason.needed, int | float)  # noqa: S101 - and its weeks
    return reason.found + timedelta(weeks=reason.needed)


def one_heavy_job(
    items: Sequence[Item], knowledge: Knowledge, states: Mapping[UUID, TreeState]
) -> tuple[list[Item], list[NotPlanned]]:
    """Keep at most one heavy job per tree and cycle among what is due or wished.

    A wish goes before what is due by interval, that before a yearly programme; a wish made "anyway"
    stands beside the others. Heavy jobs already logged in the cycle leave no room for another.
    """
    heavy: dict[tuple[UUID, int], list[Item]] = {}
    out = []
    for item in items:
        weight = knowledge.operations[item.operation].weight
        if weight >= HEAVY and item.status in ("due", "wished") and item.chance >= SURE_ENOUGH:
            heavy.setdefault((item.tree_id, item.cycle), []).append(item)
        else:
            out.append(item)
    crowded = []
    for (tree, cycle), rivals in heavy.items():
        anyway = {w.operation for w in states[tree].wishes if w.anyway}
        first, *rest = sorted(rivals, key=lambda i: _rank(i, knowledge))
        out.append(first)
        for item in rest:
            if item.operation in anyway or item.operation == first.operation:
                out.append(item)
            else:
                reason = Reason("one_heavy_job", subject=first.operation, found=first.opens.likely)
                crowded.append(NotPlanned(tree, item.operation, item.rule, cycle, (reason,)))
    return out, crowded


def _rank(item: Item, knowledge: Knowledge) -> tuple[int, int, date]:
    claim = 0 if item.status == "wished" else 1 if item.reasons and item.reasons[0].code == "interval" else 2
    return claim, -knowledge.operations[item.operation].weight, item.opens.likely
