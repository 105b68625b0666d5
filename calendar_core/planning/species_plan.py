"""The plan of all trees of one species: their stages, and each work of the profile in each cycle."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.cycle import cycle_start, cycles_at, is_south
from calendar_core.planning.anchors import Cycle, middles
from calendar_core.planning.axis import HORIZON_DAYS
from calendar_core.planning.due import HEAVY, YEAR_DAYS, Calendar, Decision, decide
from calendar_core.planning.items import Item, NotPlanned, Range, Reason, StageDate, item_id
from calendar_core.planning.learned import Taught, sight_cycle, taught
from calendar_core.planning.rivals import asked_for_anyway
from calendar_core.planning.stage_run import Group, StageRun
from calendar_core.planning.windows import Variant, Window, of_group, quantiles, summarise, window

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from uuid import UUID

    from numpy.typing import NDArray

    from calendar_core.garden.model import Garden, Spot, Tree
    from calendar_core.garden.state import TreeState
    from calendar_core.garden.thermal import History
    from calendar_core.planning.air import Air
    from calendar_core.planning.axis import Axis
    from calendar_core.planning.learned import Seen
    from calendar_core.species.schema import Knowledge, Profile, Work
    from calendar_core.weather.traces import Traces

    Floats = NDArray[np.float64]

HOLDS = ("hold", "again")
SOON_DAYS = 30  # where a tree stands now says where it will stand for so long


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


class SpeciesPlan:
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
        start = cycle_start(garden, deciduous=self.profile.habit == "deciduous")
        self.calendar = Calendar(start, south=is_south(garden.latitude))
        self.cycles = cycles_at(today, self.calendar.start, south=self.calendar.south)
        self.items: list[Item] = []
        self.absent: list[NotPlanned] = []
        self.stages: dict[UUID, tuple[StageDate, ...]] = {}
        self.lessons: dict[tuple[object, ...], Taught] = {}
        self.years: dict[UUID, int] = {}  # by item, how many cycles pass from one time to the next

    def plan(self) -> None:
        """Fill items, absent and stages."""
        groups = [self._groups(tree) for tree in self.trees]
        place = {kind: i for i, kind in enumerate(dict.fromkeys(groups))}
        self._seasons(
            list(place), [(tree, place[kind]) for tree, kind in zip(self.trees, groups, strict=True)]
        )

    # -- groups ---------------------------------------------------------------------------------------

    def _history(self, state: TreeState, axis: Axis) -> History:
        spots = self.grove.spots
        moves = [(axis.index(day), spots[spot].profile) for day, spot in state.moves if spot in spots]
        before = max([i for i, (day, _) in enumerate(moves) if day <= 0], default=0)
        moves = [(max(day, 0), profile) for day, profile in moves[before:]]
        if moves:  # where a tree stood before its first entry is taken to be where it came to stand
            moves[0] = (0, moves[0][1])
        return () if all(profile == "open" for _, profile in moves) else tuple(moves)

    def _groups(self, tree: Tree) -> tuple[Group, ...]:
        state = self.grove.states[tree.id]
        history = self._history(state, self.axis)
        seen, not_yet = (self._sights(sights) for sights in (state.seen, state.not_yet))
        out = []
        for cycle in (self.cycles[0] - 1, *self.cycles):
            past = tuple((stage, c, day.toordinal()) for stage, c, day in seen if c < cycle)
            known = self._taught(past, state)
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

    def _taught(self, past: tuple[Seen, ...], state: TreeState) -> Taught:
        """Return what past springs taught of a tree; most cycles and trees without any share an answer."""
        key = (past, tuple(state.moves) if past else ())
        if key not in self.lessons:
            where = lambda air: self._history(state, air.axis)  # noqa: E731
            self.lessons[key] = taught(self.profile, past, self.sky.past, where)
        return self.lessons[key]

    def _sights(self, sights: Sequence[tuple[str, date]]) -> list[tuple[str, int, date]]:
        """Return stages seen with the cycle they belong to: that of the nearest season, whatever the day says."""
        profile, south = self.profile, self.calendar.south
        known = [(stage, day) for stage, day in sights if stage in profile.stages]
        return [(stage, sight_cycle(profile.stages[stage], day, south=south), day) for stage, day in known]

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
        rows = zip(*self.axis.dates(labels), strict=True)
        return [Range(*three) if None not in three else None for three in rows]

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
                rows[g].append(
                    StageDate(
                        name,
                        stage.bbch,
                        cycle,
                        of_group(ranges, g),
                        of_group(share, g),
                        seen,
                        stage.basis,
                        stage.source or "",
                        stage.note or "",
                    )
                )
        for tree, g in where:
            self.stages[tree.id] = (*self.stages.get(tree.id, ()), *rows[g])

    def _work(self, one: Window, at: Cycle, where: Sequence[tuple[Tree, int]], no_winter: Floats) -> None:
        if at.cycle < self.calendar.cycle(self.today) and not self._open_yet(one):
            return  # what the cycle before left undone is of no interest any more
        dated, fed_since = self._dated(one), self._fed_since(one.work, at)
        cases = [
            self._case(dated, tree, g, at.cycle, of_group(fed_since, g) if fed_since else None)
            for tree, g in where
        ]
        variants = list(dict.fromkeys(case.variant for case in cases))
        summary = summarise(one, variants, today=self.axis.index(self.today), end=at.end - 1)
        rows = zip(
            self._ranges(summary.opens),
            self._ranges(summary.closes),
            summary.chance.tolist(),
            summary.binding.tolist(),
            strict=True,
        )
        of_variant = {variant: _Found(*row) for variant, row in zip(variants, rows, strict=True)}
        for case in cases:
            self._one(dated, case, of_variant[case.variant], no_winter=bool(no_winter[case.group]))

    def _open_yet(self, one: Window) -> bool:
        """Tell whether a window may still be open for any tree."""
        ahead = one.closes > self.axis.index(self.today) - 1
        return bool(((one.opens.labels < one.closes) & ahead).any())

    def _dated(self, one: Window) -> _Dated:
        opens, closes = one.likely
        middle = (opens + np.minimum(closes, opens + YEAR_DAYS / 2)) / 2
        facts = [self.axis.dates(limit.fact.likely) for limit in (one.opens, *one.closing)]
        dates = self.axis.dates
        return _Dated(one, dates(opens), dates(closes), dates(middle), facts)

    def _fed_since(self, work: Work, at: Cycle) -> list[date | None]:
        """Return by group the day since which a feeding must be in the log; nothing where none need be."""
        if work.requires.fed_since is None:
            return []
        days = self.axis.dates(middles(at.stages[work.requires.fed_since], 0.1))
        return [day if day and day <= self.today else None for day in days]  # what lies ahead can be fed for

    def _case(self, dated: _Dated, tree: Tree, g: int, cycle: int, fed_from: date | None) -> _Case:
        work, state, middle = dated.window.work, self.grove.states[tree.id], of_group(dated.middle, g)
        decision = decide(work, state, cycle, self.calendar, middle, fed_from, self.knowledge.operations)
        case = _Case(self.grove.garden.id, tree, g, cycle, work, state, decision)
        days = [self.axis.index(day) for day in (decision.not_before, case.put_off) if day is not None]
        half = {"large": "first", "small": "second"}.get(state.size, "whole") if work.by_size else "whole"
        group = 0 if dated.window.one_for_all else g
        case.variant = Variant(group, float(max(days, default=-np.inf)), half)
        return case

    # -- items ----------------------------------------------------------------------------------------

    def _one(self, dated: _Dated, case: _Case, found: _Found, *, no_winter: bool) -> None:
        """Add the item of one tree, or why it has none."""
        work, decision, opens, closes = case.work, case.decision, found.opens, found.closes
        if opens is not None and opens.likely > self.today + timedelta(days=HORIZON_DAYS):
            return
        against = [*decision.against, *self._against(case)]
        if opens is None or closes is None:
            against += self._no_window(dated, case, no_winter=no_winter)
        elif opens.likely <= self.today + timedelta(days=SOON_DAYS):
            against += self._misplaced(work, case.state)
        if against or opens is None or closes is None or decision.status is None:
            absent = NotPlanned(case.tree.id, work.operation, work.key, case.cycle, tuple(against))
            self.absent.append(absent)
            return
        reasons = [r for r in decision.reasons if r.code not in HOLDS or _hold_end(r) >= opens.early]
        reasons += _window_reasons(dated, case, found.binding)
        if case.put_off is not None:
            reasons.append(Reason("put_off", found=case.put_off))
        self.years[case.identity] = self._years(work, case.state)
        cautions = (*work.cautions, *self.knowledge.operations[work.operation].cautions)
        self.items.append(
            Item(
                case.identity, case.tree.id, self.species, work.operation, work.key, case.cycle, case.state.aim,
                opens, closes, found.chance, decision.status, work.how, tuple(reasons),
                tuple(dict.fromkeys(cautions)),
            )
        )  # fmt: skip

    def _years(self, work: Work, state: TreeState) -> int:
        if work.every_years is not None:
            return int(getattr(work.every_years, state.size))
        return work.rest_years + 1 if work.rest_years else 0

    def _against(self, case: _Case) -> list[Reason]:
        """Return what the grower's answers and the heavy jobs of the log say against a work in a cycle."""
        operation, operations = case.work.operation, self.knowledge.operations
        out = [Reason("dropped", subject=operation)] if case.dropped else []
        if operations[operation].weight < HEAVY or asked_for_anyway(operation, case.state, case.cycle):
            return out
        others = [
            done
            for done in case.state.done
            if done.operation != operation
            and operations[done.operation].weight >= HEAVY
            and self.calendar.cycle(done.on) == case.cycle
        ]
        return (
            [*out, Reason("heavy_done", subject=others[-1].operation, found=others[-1].on)] if others else out
        )

    def _misplaced(self, work: Work, state: TreeState) -> list[Reason]:
        """Return why a move makes no sense from where the tree stands as its window comes."""
        spot = self.grove.spots.get(state.spot) if state.spot else None
        stands = "open" if spot is None or spot.profile == "open" else "sheltered"
        wanted = work.requires.stands
        return [Reason(f"stands_{stands}")] if wanted is not None and wanted != stands else []

    def _no_window(self, dated: _Dated, case: _Case, *, no_winter: bool) -> list[Reason]:
        """Return why no member has the window, or none has it any more."""
        opens, closes = of_group(dated.opens, case.group), of_group(dated.closes, case.group)
        if opens is None:
            opening = dated.window.opens.reason
            return [Reason("no_winter") if no_winter else replace(opening, code=f"never_{opening.code}")]
        if closes is not None and closes < self.today:
            return [Reason("over", found=closes)]
        late = [r for r in case.decision.reasons if r.code in HOLDS and closes and _hold_end(r) > closes]
        if case.put_off is not None and closes is not None and case.put_off > closes:
            late.append(Reason("put_off", found=case.put_off))
        return late or [Reason("closes_before_opening", found=closes, needed=opens)]


@dataclass(frozen=True)
class _Dated:
    """A window with its likely dates by group: opening, closing, their middle, and the facts behind its limits.

    Entries of the log are told by the middle to be of this window or of another year's.
    """

    window: Window
    opens: Sequence[date | None]
    closes: Sequence[date | None]
    middle: Sequence[date | None]
    facts: Sequence[Sequence[date | None]]  # the opening's, then those of the closing limits


@dataclass(eq=False)
class _Case:
    """One tree before a window."""

    garden: UUID
    tree: Tree
    group: int
    cycle: int
    work: Work
    state: TreeState
    decision: Decision
    variant: Variant = field(default=Variant(0))

    @cached_property
    def identity(self) -> UUID:
        """The id of its item; few cases come to need one."""
        return item_id(self.garden, self.tree.id, self.work.key, self.cycle)

    @property
    def put_off(self) -> date | None:
        """The day until which the grower put it off."""
        return self.state.put_off.get(self.identity) if self.state.put_off else None

    @property
    def dropped(self) -> bool:
        """Whether the grower wants none this cycle."""
        return bool(self.state.dropped) and self.identity in self.state.dropped


@dataclass(frozen=True)
class _Found:
    """What a window comes to for one variant of tree."""

    opens: Range | None
    closes: Range | None
    chance: float
    binding: int


def _window_reasons(dated: _Dated, case: _Case, binding: int) -> list[Reason]:
    """Return the facts that open and close the window, each with its likely date, in that order."""
    opening, closing = dated.window.opens.reason, dated.window.closing[binding].reason
    opened, closed = (of_group(dated.facts[place], case.group) for place in (0, 1 + binding))
    first = replace(opening, code=f"opens_{opening.code}", found=opened)
    last = replace(closing, code=f"closes_{closing.code}", found=closed)
    halves, half = {"first": "large_first", "second": "small_last"}, case.variant.half
    size = [Reason(halves[half], basis=case.work.basis)] if half in halves else []
    after = case.work.requires.after_stage
    stage = [Reason("after_stage", subject=after, basis=case.work.basis)] if after else []
    return [first, *stage, last, *size]


def _hold_end(reason: Reason) -> date:
    assert isinstance(reason.found, date)  # noqa: S101 - holds carry the date of their operation
    assert isinstance(reason.needed, int | float)  # noqa: S101 - and its weeks
    return reason.found + timedelta(weeks=reason.needed)
