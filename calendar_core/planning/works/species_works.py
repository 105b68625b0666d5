"""The works of one species: windows of every cycle, decided tree by tree into items or reasons against them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property, partial
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.cycle import YEAR_DAYS
from calendar_core.garden.past_work import latest_done
from calendar_core.garden.state import Wish, asked_after, asked_for_anyway
from calendar_core.knowledge.forms.operations import FEEDING, HEAVY
from calendar_core.planning.feeding.last_feeding import fed_until
from calendar_core.planning.items import Item, NotPlanned, Range, Reason, item_id
from calendar_core.planning.seasons.axis import HORIZON_DAYS
from calendar_core.planning.seasons.members import middles, of_group
from calendar_core.planning.seasons.regrowth import held_for_leaves, regrowth
from calendar_core.planning.waits import WAITS, wait_end
from calendar_core.planning.works.due import Decision, decide
from calendar_core.planning.works.windows import Variant, Window, summarise, window

if TYPE_CHECKING:
    from collections.abc import Sequence
    from uuid import UUID

    from calendar_core.garden.model import Tree
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.species.work import Work
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.items import Middles
    from calendar_core.planning.seasons.cycle import Cycle
    from calendar_core.planning.seasons.species_stages import Season, SpeciesStages

FED_DAYS = 60  # estimate: fertilizing must show in the candles by then, so about two months before it is told
UNDONE_YEARS = 2  # what undoes other work is planned once: two cycles are all that a plan sees
SOON_DAYS = 30  # where a tree stands now says where it will stand for so long


class SpeciesWorks:
    """The items of the trees of one species, and what is not planned for them."""

    def __init__(self, species: str, stages: SpeciesStages, knowledge: Knowledge) -> None:
        self.species, self.stages, self.knowledge = species, stages, knowledge
        self.grove, self.axis, self.today = stages.grove, stages.axis, stages.today
        self.calendar, self.where = stages.calendar, stages.where
        self.latest = {
            tree.id: latest_done(self.grove.states[tree.id], knowledge.operations) for tree, _ in self.where
        }
        self.regrowth = {
            tree.id: regrowth(self.grove.states[tree.id], stages.dates[tree.id], stages.profile, knowledge)
            for tree, _ in self.where
        }
        self.fed = {
            tree.id: fed_until(
                self.grove.states[tree.id], stages.profile, knowledge.feeding, knowledge.operations
            )
            for tree, _ in self.where
        }
        self.items: list[Item] = []
        self.absent: list[NotPlanned] = []
        self.unfed: dict[UUID, Reason] = {}  # by tree, the work that only fertilizing is wanting for
        self.of_parts: list[Item | NotPlanned] = []  # what was decided of parts, as if of the tree
        self.years: dict[UUID, int] = {}  # by item, how many cycles pass from one time to the next
        windows = [
            (season, self._dated(window(work, season.at), season))
            for season in stages.seasons
            for work in stages.profile.work
        ]
        by_group = {g: _middles([dated for _, dated in windows], g) for g in {g for _, g in self.where}}
        self.middles = {tree.id: by_group[g] for tree, g in self.where}
        for season, dated in windows:
            self._work(dated, season)
        self.items = [self._fed_for(item) for item in self.items]

    # -- windows --------------------------------------------------------------------------------------

    def _work(self, dated: _Dated, season: Season) -> None:
        span, at = dated.window, season.at
        if at.cycle < self.calendar.cycle(self.today) and not self._open_yet(span):
            return  # what the cycle before left undone is of no interest any more
        fed_since = self._fed_since(span.work, at)
        cases = [
            self._case(dated, tree, g, of_group(fed_since, g) if fed_since else None)
            for tree, g in self.where
        ]
        cases += [
            self._case(dated, tree, g, of_group(fed_since, g) if fed_since else None, of_part=True)
            for tree, g in self.where
            if span.work.operation in self.grove.states[tree.id].decided
        ]
        variants = list(dict.fromkeys(case.variant for case in cases))
        summary = summarise(span, variants, today=self.axis.index(self.today), end=at.end - 1)
        rows = zip(
            self.axis.ranges(summary.opens),
            self.axis.ranges(summary.closes),
            summary.chance.tolist(),
            summary.binding.tolist(),
            strict=True,
        )
        told: dict[tuple[int, str, int], list[Reason]] = {}  # trees share most of their windows
        of_variant = {}
        for variant, (opens, closes, chance, binding) in zip(variants, rows, strict=True):
            key = (variant.group, variant.half, binding)
            if key not in told:
                told[key] = _window_reasons(dated, variant, binding)
            of_variant[variant] = _Found(opens, closes, chance, told[key])
        for case in cases:
            self._decide(dated, case, of_variant[case.variant], no_winter=bool(season.no_winter[case.group]))

    def _open_yet(self, span: Window) -> bool:
        """Tell whether a window may still be open for any tree."""
        ahead = span.closes > self.axis.index(self.today) - 1
        return bool(((span.opens.labels < span.closes) & ahead).any())

    def _dated(self, span: Window, season: Season) -> _Dated:
        opens, closes = span.likely
        closes = np.minimum(closes, season.at.end - 1)
        middle = (opens + np.minimum(closes, opens + YEAR_DAYS / 2)) / 2
        facts = [self.axis.dates(limit.fact.likely) for limit in (span.opens, *span.closing)]
        dates, cycle = self.axis.dates, season.at.cycle
        after = () if span.after is None else dates(span.after.likely)
        return _Dated(span, cycle, dates(opens), dates(closes), dates(middle), facts, after)

    def _entry_cycle(self, tree: UUID, operation: str, day: date) -> int:
        """Return the cycle that work of a tree belongs to."""
        return self.calendar.belongs(day, self.middles[tree].get(operation, ()))

    def _fed_since(self, work: Work, at: Cycle) -> list[date | None]:
        """Return by group the day since which a feeding must be in the log; nothing where none need be."""
        if work.requires.fed_since is None:
            return []
        days = self.axis.dates(middles(at.stages[work.requires.fed_since], 0.1))
        return [day if day and day <= self.today else None for day in days]  # what lies ahead can be fed for

    def _case(
        self, dated: _Dated, tree: Tree, g: int, fed_from: date | None, *, of_part: bool = False
    ) -> _Case:
        work, state, cycle = dated.window.work, self.grove.states[tree.id], dated.cycle
        belongs = partial(self._entry_cycle, tree.id)
        knowledge, latest = self.knowledge, self.latest[tree.id]
        if of_part:
            work, state = _decided(work, state)
            latest = latest_done(state, knowledge.operations)
        operations, after = knowledge.operations, knowledge.feeding.after
        back = list(held_for_leaves(work, self.regrowth[tree.id], operations, knowledge.spacing))
        decision = decide(
            work, state, cycle, belongs, fed_from, operations, latest, after, back, self.fed[tree.id]
        )
        case = _Case(self.grove.garden.id, tree, g, cycle, work, state, decision, of_part)
        days = [self.axis.index(day) for day in (decision.not_before, case.put_off) if day is not None]
        half = {"large": "first", "small": "second"}.get(state.size, "whole") if work.by_size else "whole"
        case.variant = Variant(0 if dated.window.one_for_all else g, float(max(days, default=-np.inf)), half)
        return case

    # -- items ----------------------------------------------------------------------------------------

    def _decide(self, dated: _Dated, case: _Case, found: _Found, *, no_winter: bool) -> None:
        """Add the item of one tree, or why it has none."""
        work, decision, opens, closes = case.work, case.decision, found.opens, found.closes
        if opens is not None and opens.likely > self.today + timedelta(days=HORIZON_DAYS):
            return
        against = [*decision.against, *self._against(case)]
        if opens is None or closes is None:
            against += self._no_window(dated, case, no_winter=no_winter)
        elif found.chance == 0:
            against.append(Reason("over", found=closes.likely))
        elif opens.likely <= self.today + timedelta(days=SOON_DAYS):
            against += self._misplaced(work, case.state)
        if opens and found.chance and not case.of_part and {reason.code for reason in against} == {"not_fed"}:
            since, source = against[0].needed, work.source or ""
            self.unfed[case.tree.id] = Reason(
                "feeds_for", work.operation, opens.likely, since, basis=work.basis, source=source
            )
        if against:
            against += self._too_late(work, of_group(dated.closes, case.group))
        if against or opens is None or closes is None or decision.status is None:
            absent = NotPlanned(case.tree.id, work.operation, work.key, case.cycle, tuple(against))
            (self.of_parts if case.of_part else self.absent).append(absent)
            return
        reasons = [r for r in decision.reasons if r.code not in WAITS or wait_end(r) >= opens.early]
        reasons += [*found.reasons, *self._too_late(work, closes.late)]
        if case.put_off is not None:
            reasons.append(Reason("put_off", found=case.put_off))
        if not case.of_part:
            self.years[case.identity] = self._years(work, case.state)
        cautions = (*work.cautions, *self.knowledge.operations[work.operation].cautions)
        (self.of_parts if case.of_part else self.items).append(
            Item(
                case.identity, case.tree.id, self.species, work.operation, work.key, case.cycle, case.state.aim,
                opens, closes, found.chance, decision.status, work.how, tuple(reasons),
                tuple(dict.fromkeys(cautions)), shared=work.shared, once=work.once,
            )
        )  # fmt: skip

    def _too_late(self, work: Work, closed: date | None) -> list[Reason]:
        """Return what is lost with work whose window of this cycle has closed."""
        lost = work.late or self.knowledge.operations[work.operation].late
        return (
            [Reason("too_late", found=closed, note=lost)] if lost and closed and closed < self.today else []
        )

    def _fed_for(self, item: Item) -> Item:
        """Return an item that fertilizes, with the work that there is not without it."""
        wanted = self.unfed.get(item.tree_id)
        operation = self.knowledge.operations[item.operation]
        if wanted is None or FEEDING not in (item.operation, operation.counts_as):
            return item
        near = isinstance(wanted.found, date) and wanted.found <= self.today + timedelta(days=FED_DAYS)
        open_now = item.opens.likely <= self.today
        return replace(item, reasons=(*item.reasons, wanted)) if near and open_now else item

    def _years(self, work: Work, state: TreeState) -> int:
        if work.every_years is not None:
            return int(getattr(work.every_years, state.size))
        if work.requires.since is not None:
            return UNDONE_YEARS
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
            and self._entry_cycle(case.tree.id, done.operation, done.on) == case.cycle
        ]
        return (
            [*out, Reason("heavy_done", subject=others[-1].operation, found=others[-1].on)] if others else out
        )

    def _misplaced(self, work: Work, state: TreeState) -> list[Reason]:
        """Return why a move makes no sense from where the tree stands as its window comes."""
        stands, wanted = self._stands(state), work.requires.stands
        return [Reason(f"stands_{stands}")] if wanted is not None and wanted != stands else []

    def _stands(self, state: TreeState) -> str:
        spot = self.grove.spots.get(state.spot) if state.spot else None
        return "open" if spot is None or spot.profile == "open" else "sheltered"

    def _no_window(self, dated: _Dated, case: _Case, *, no_winter: bool) -> list[Reason]:
        """Return why no member has the window, or none has it any more."""
        opens, closes = of_group(dated.opens, case.group), of_group(dated.closes, case.group)
        if opens is None:
            opening = dated.window.opens.reason
            return [Reason("no_winter") if no_winter else replace(opening, code=f"never_{opening.code}")]
        if closes is not None and closes < self.today:
            return [Reason("over", found=closes)]
        late = [r for r in case.decision.reasons if r.code in WAITS and closes and wait_end(r) > closes]
        if case.put_off is not None and closes is not None and case.put_off > closes:
            late.append(Reason("put_off", found=case.put_off))
        if closes is not None and closes > opens and not late:
            return [
                Reason("no_time_between", found=opens, needed=closes)
            ]  # each is likely so, but never both
        return late or [Reason("closes_before_opening", found=closes, needed=opens)]


@dataclass(frozen=True)
class _Dated:
    """A window with its likely dates by group: opening, closing, their middle, and the facts behind its limits.

    Entries of the log are told by the middle to be of this window or of another year's.
    """

    window: Window
    cycle: int
    opens: Sequence[date | None]
    closes: Sequence[date | None]
    middle: Sequence[date | None]
    facts: Sequence[Sequence[date | None]]  # the opening's, then those of the closing limits
    after: Sequence[date | None] = ()  # of the stage that it waits for, if it waits for one


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
    of_part: bool = False
    variant: Variant = field(default=Variant(0))

    @cached_property
    def identity(self) -> UUID:
        """The id of its item; few cases come to need one."""
        return item_id(self.garden, self.tree.id, self.work.key, self.cycle)

    @property
    def put_off(self) -> date | None:
        """The day until which the grower put it off."""
        waits = bool(self.state.put_off) and not self.of_part  # a part's item is put off by its own id
        return self.state.put_off.get(self.identity) if waits else None

    @property
    def dropped(self) -> bool:
        """Whether the grower wants none this cycle, and has not wished for it since."""
        dropped = bool(self.state.dropped) and not self.of_part and self.identity in self.state.dropped
        return dropped and not asked_after(self.identity, self.work, self.state, self.cycle)


@dataclass(frozen=True)
class _Found:
    """What a window comes to for one variant of tree."""

    opens: Range | None
    closes: Range | None
    chance: float
    reasons: Sequence[Reason]


def _decided(work: Work, state: TreeState) -> tuple[Work, TreeState]:
    """Return a work and a state as they are before a part of which the work was decided.

    It is asked for, and neither what was done to other parts nor what it follows on them counts.
    """
    requires = work.requires.model_copy(update={"since": None, "since_weeks": None})
    done = [done for done in state.done if done.operation not in (work.operation, work.requires.since)]
    wishes = [*state.wishes, Wish(work.operation, None)]
    return work.model_copy(update={"requires": requires}), replace(state, done=done, wishes=wishes)


def _middles(windows: Sequence[_Dated], group: int) -> Middles:
    """Return the middle days of a group's windows by operation."""
    out: dict[str, list[tuple[int, date]]] = {}
    for dated in windows:
        middle = of_group(dated.middle, group)
        if middle is not None:
            out.setdefault(dated.window.work.operation, []).append((dated.cycle, middle))
    return dict(out)


def _window_reasons(dated: _Dated, variant: Variant, binding: int) -> list[Reason]:
    """Return the facts that open and close the window, each with its likely date, in that order."""
    opening, closing = dated.window.opens.reason, dated.window.closing[binding].reason
    opened, closed = (of_group(dated.facts[place], variant.group) for place in (0, 1 + binding))
    first = replace(opening, code=f"opens_{opening.code}", found=opened)
    last = replace(closing, code=f"closes_{closing.code}", found=closed)
    halves, half, work = {"first": "large_first", "second": "small_last"}, variant.half, dated.window.work
    size = [Reason(halves[half], basis=work.basis)] if half in halves else []
    after = work.requires.after_stage
    came = of_group(dated.after, variant.group) if after else None
    stage = [Reason("after_stage", subject=after, found=came, basis=work.basis)] if after else []
    return [first, *stage, last, *size]
