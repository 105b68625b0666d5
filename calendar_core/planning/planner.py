"""The planner: from garden, log, weather and knowledge to a plan. Pure; ``today`` is an argument."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.cycle import cycle_start, cycles_at
from calendar_core.planning.air import Air
from calendar_core.planning.anchors import Cycle, middles
from calendar_core.planning.axis import HORIZON_DAYS, axis_for
from calendar_core.planning.due import HEAVY, Calendar, Decision, decide
from calendar_core.planning.items import Item, NotPlanned, Plan, Range, Reason, StageDate, item_id
from calendar_core.planning.learned import taught
from calendar_core.planning.stage_run import Group, StageRun
from calendar_core.planning.windows import Variant, Window, quantiles, summarise, window

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
        groups = [self._groups(tree) for tree in self.trees]
        place = {kind: i for i, kind in enumerate(dict.fromkeys(groups))}
        self._seasons(
            list(place), [(tree, place[kind]) for tree, kind in zip(self.trees, groups, strict=True)]
        )

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

    def _seasons(self, kinds: Sequence[tuple[Group, ...]], where: Sequence[tuple[Tree, int]]) -> None:
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

    def _ranges(self, labels: Floats) -> list[Range | None]:
        """Return the ranges of (3, n) quantiles; those of one moment are finite together."""
        return [
            Range(*map(self.axis.day, three)) if np.inf not in three else None for three in labels.T.tolist()
        ]

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
            by_group = labels[name].swapaxes(0, 1)
            has = np.isfinite(by_group)
            ranges, share = self._ranges(quantiles(by_group, has)), has.mean(axis=(1, 2)).tolist()
            for g in range(n):
                seen = name in dict(groups[g].seen)
                one = min(g, len(ranges) - 1)
                rows[g].append(
                    StageDate(
                        name,
                        stage.bbch,
                        cycle,
                        ranges[one],
                        share[one],
                        seen,
                        stage.basis,
                        stage.source or "",
                        stage.note or "",
                    )
                )
        for tree, g in where:
            self.stages[tree.id] = (*self.stages.get(tree.id, ()), *rows[g])

    def _work(self, one: Window, at: Cycle, where: Sequence[tuple[Tree, int]], no_winter: Floats) -> None:
        fed_since, cycle = self._fed_since(one.work, at), at.cycle
        cases = [self._case(one, tree, g, cycle, self._date(fed_since, g)) for tree, g in where]
        variants = list(dict.fromkeys(variant for _, _, variant, _ in cases))
        found = summarise(one, variants, today=self.axis.index(self.today), end=at.end - 1)
        windows = zip(
            self._ranges(found.opens),
            self._ranges(found.closes),
            found.chance.tolist(),
            found.binding.tolist(),
            strict=True,
        )
        of_variant = dict(zip(variants, windows, strict=True))
        for tree, g, variant, decision in cases:
            self._one(one, tree, g, cycle, decision, variant, *of_variant[variant], no_winter=no_winter[g])

    def _fed_since(self, work: Work, at: Cycle) -> Floats:
        """Return the labels by group since which a feeding must be in the log; inf where none need be."""
        if work.requires.fed_since is None:
            return np.array([np.inf])
        labels = middles(at.stages[work.requires.fed_since], 0.1)
        today = self.axis.index(self.today)
        return np.where(np.ceil(labels) <= today, labels, np.inf)  # what lies ahead can still be fed for

    def _date(self, labels: Floats, g: int) -> date | None:
        """Return the date of a group's label, or of the one label that speaks for all; None if it never comes."""
        label = float(labels[min(g, len(labels) - 1)])
        return self.axis.day(label) if label < np.inf else None

    def _case(
        self, one: Window, tree: Tree, g: int, cycle: int, fed_from: date | None
    ) -> tuple[Tree, int, Variant, Decision]:
        work, state = one.work, self.grove.states[tree.id]
        decision = decide(work, state, cycle, self.calendar, fed_from, self.knowledge.operations)
        put_off = state.put_off.get(self._id(tree, work, cycle)) if state.put_off else None
        days = [self.axis.index(day) - 1.0 for day in (decision.not_before, put_off) if day is not None]
        half = {"large": "first", "small": "second"}.get(state.size, "whole") if work.by_size else "whole"
        return tree, g, Variant(0 if one.one_for_all else g, max(days, default=-np.inf), half), decision

    def _id(self, tree: Tree, work: Work, cycle: int) -> UUID:
        return item_id(self.grove.garden.id, tree.id, work.key, cycle)

    def _one(
        self,
        one: Window,
        tree: Tree,
        g: int,
        cycle: int,
        decision: Decision,
        variant: Variant,
        opens: Range | None,
        closes: Range | None,
        chance: float,
        binding: int,
        *,
        no_winter: float,
    ) -> None:
        work, state = one.work, self.grove.states[tree.id]
        against = list(decision.against)
        if state.dropped and self._id(tree, work, cycle) in state.dropped:
            against.append(Reason("dropped", subject=work.operation))
        against += self._heavy_done(work, state, cycle)
        if opens is None or closes is None:
            against += self._no_window(one, g, no_winter)
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
        reasons += self._window_reasons(one, g, variant.half, binding)
        identity = self._id(tree, work, cycle)
        if identity in state.put_off:
            reasons.append(Reason("put_off", found=state.put_off[identity]))
        operation = self.knowledge.operations[work.operation]
        self.items.append(
            Item(
                identity, tree.id, self.species, work.operation, work.key, cycle, state.aim, opens, closes,
                chance, decision.status, work.how, tuple(reasons),
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

    def _window_reasons(self, one: Window, g: int, half: str, binding: int) -> list[Reason]:
        """Return the facts that open and close the window, each with its likely date, in that order."""
        opening, closing = one.opens, one.closing[binding]
        opened, closed = self._date(opening.fact.likely, g), self._date(closing.fact.likely, g)
        first = replace(opening.reason, code=f"opens_{opening.reason.code}", found=opened)
        last = replace(closing.reason, code=f"closes_{closing.reason.code}", found=closed)
        halves = {"first": "large_first", "second": "small_last"}
        size = [Reason(halves[half], basis=one.work.basis)] if half in halves else []
        after = one.work.requires.after_stage
        stage = [Reason("after_stage", subject=after, basis=one.work.basis)] if after else []
        return [first, *stage, last, *size]

    def _no_window(self, one: Window, g: int, no_winter: float) -> list[Reason]:
        """Why no member has the window, or none has it any more."""
        if no_winter > SURE_ENOUGH:
            return [Reason("no_winter")]
        opens, closes = (self._date(labels, g) for labels in one.likely)
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
