"""Spacing: what a tree has borne in a cycle, when it has recovered, and what speaks against more work on a day."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.state import asked_for_anyway
from calendar_core.knowledge.forms.operations import HEAVY
from calendar_core.planning.items import Range, Reason
from calendar_core.planning.seasons.axis import YEAR
from calendar_core.planning.seasons.members import QUANTILES, place_of
from calendar_core.planning.seasons.regrowth import held_for_leaves
from calendar_core.science.year.degree_days import degree_days

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from calendar_core.garden.cycle import Calendar
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.operations import Operation
    from calendar_core.knowledge.forms.spacing import ApartRule, SpacingRules
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.forms.species.work import Hold, Work
    from calendar_core.planning.items import Middles
    from calendar_core.planning.seasons.air import Air
    from calendar_core.planning.waits import Held

    Floats = NDArray[np.float64]

YEARS_ON = 3  # mean years that go on behind the axis: work of its last cycle still has to recover


@dataclass(frozen=True, slots=True)
class LoadJob:
    """Work that weighs something; of several sittings ``on`` is the last day."""

    operation: str
    on: date
    weight: int


@dataclass(frozen=True, slots=True)
class Strain:
    """A job with what is left of it on a day: the share of its recovery still to come, and when it is over."""

    job: LoadJob
    left: float
    recovered: Range | None


@dataclass(frozen=True, slots=True)
class Load:
    """What work of the cycle weighs, what the tree may bear in it, and each job of the cycle or not recovered from."""

    used: int
    budget: int
    strains: tuple[Strain, ...]


@dataclass(frozen=True, slots=True)
class Clash:
    """Why a job cannot stand on its day beside another, and from when it could; None where no day is known."""

    reason: Reason
    until: date | None


@dataclass(frozen=True)
class Spacing:
    """One tree, in the state its log tells, under the air of its garden; ``middles`` and ``regrowth`` are those of its plan."""

    rules: SpacingRules
    operations: Mapping[str, Operation]
    profile: Profile
    calendar: Calendar
    air: Air
    state: TreeState
    middles: Middles = field(default_factory=dict)
    regrowth: Sequence[Held] = ()
    _recovered: dict[tuple[str, date], Range | None] = field(default_factory=dict)

    def cycle(self, job: LoadJob) -> int:
        """Return the cycle a job belongs to, as the plan tells it."""
        return self.calendar.belongs(job.on, self.middles.get(job.operation, ()))

    # -- what was done --------------------------------------------------------------------------------

    def weight(self, operation: str, share: float | None = None) -> int:
        """Return what an operation weighs; by the share of the foliage it takes, if that makes it more."""
        return max(self.operations[operation].weight, self.rules.least_weight(share))

    @cached_property
    def jobs(self) -> tuple[LoadJob, ...]:
        """The jobs of the log in order of their days."""
        return self.joined(
            LoadJob(done.operation, done.on, self.weight(done.operation, done.share))
            for done in self.state.done
        )

    def joined(self, sittings: Iterable[LoadJob]) -> tuple[LoadJob, ...]:
        """Return jobs that weigh something, with the sittings of one made one."""
        out: dict[tuple[str, date], LoadJob] = {}
        for job in sorted((job for job in sittings if job.weight), key=lambda job: (job.on, job.operation)):
            before = next((sitting for sitting in reversed(out.values()) if self.one_job(sitting, job)), None)
            if before is not None:
                del out[before.operation, before.on]
            heavier = job.weight if before is None else max(job.weight, before.weight)
            out[job.operation, job.on] = LoadJob(job.operation, job.on, heavier)
        return tuple(out.values())

    def one_job(self, job: LoadJob, other: LoadJob) -> bool:
        """Tell whether two are sittings of one job."""
        return (
            job.operation == other.operation
            and abs((job.on - other.on).days) <= self.rules.sitting_days.value
        )

    @property
    def budget(self) -> int:
        """What work of a cycle may weigh."""
        return self.rules.budget.of(self.state.vigour)

    def used(self, jobs: Iterable[LoadJob], cycle: int) -> int:
        """Return what the jobs of a cycle weigh."""
        return sum(job.weight for job in jobs if self.cycle(job) == cycle)

    def load(self, on: date) -> Load:
        """Return what the tree bears on a day, work of the day included."""
        cycle, done = self.calendar.cycle(on), [job for job in self.jobs if job.on <= on]
        strains = [Strain(job, self.left(job, on), self.recovered(job.operation, job.on)) for job in done]
        kept = [strain for strain in strains if strain.left > 0 or self.cycle(strain.job) == cycle]
        return Load(self.used(done, cycle), self.budget, tuple(kept))

    # -- recovery -------------------------------------------------------------------------------------

    @cached_property
    def _heat(self) -> Floats:
        """Heat sums (n_traces, n_days) [degC d] from the start of the axis; mean years go on behind it."""
        base_c = self.rules.heat.base_c
        sums = self.air.degree_day_sum(base_c)
        usual = np.tile(degree_days(self.air.climate_c[-YEAR:], base_c), YEARS_ON)
        return np.concatenate([sums, sums[:, -1:] + np.cumsum(usual)], axis=1)

    def recovered(self, operation: str, on: date) -> Range | None:
        """Return when a tree has recovered from work on a day; None where that is not known or never comes."""
        key = (operation, on)
        if key not in self._recovered:
            self._recovered[key] = self._range(operation, on)
        return self._recovered[key]

    def _range(self, operation: str, on: date) -> Range | None:
        at, rule = self.air.axis.index(on), self.rules.recovery.get(operation)
        if rule is None or not 0 <= at < self._heat.shape[1]:
            return None
        reached = self._heat >= self._heat[:, at, None] + rule.heat
        days = np.sort(np.where(reached.any(axis=1), reached.argmax(axis=1), np.inf))
        early, likely, late = days[[place_of(q, np.array(days.size - 1)) for q in QUANTILES]]
        if not np.isfinite(likely):
            return None
        day = self.air.axis.day
        return Range(day(early), day(likely), day(min(late, self._heat.shape[1] - 1)))

    def left(self, job: LoadJob, on: date) -> float:
        """Return the share of a job's recovery that is still to come on a day, 0 where it is not known."""
        rule, since, at = (
            self.rules.recovery.get(job.operation),
            self.air.axis.index(job.on),
            self.air.axis.index(on),
        )
        if rule is None or not 0 <= since <= at < self._heat.shape[1]:
            return 0.0
        share = float(np.median(self._heat[:, at] - self._heat[:, since])) / rule.heat
        return max(0.0, 1.0 - share)

    # -- what speaks against more ---------------------------------------------------------------------

    def warnings(self, operation: str, on: date, share: float | None = None) -> tuple[Reason, ...]:
        """Return what speaks against an operation on a day, after what the log tells: gaps, recovery, budget."""
        weight = self.weight(operation, share)
        return self.against(LoadJob(operation, on, weight), self.jobs) if weight else ()

    def against(self, job: LoadJob, others: Sequence[LoadJob]) -> tuple[Reason, ...]:
        """Return what speaks against a job beside others; work of later days counts by the cycle and its budget."""
        over = self.over_budget(job, others)
        heavy = over is None  # where it is over the budget too, that says more
        clashes = [clash.reason for other in others if (clash := self.clash(other, job, heavy=heavy))]
        return (*clashes, *((over,) if over else ()))

    def over_budget(self, job: LoadJob, others: Sequence[LoadJob]) -> Reason | None:
        """Return that a job would take the work of its cycle over the budget, if it adds to it."""
        cycle = self.cycle(job)
        before, after = self.used(self.joined(others), cycle), self.used(self.joined((*others, job)), cycle)
        if before < after > self.budget:
            rule = self.rules.budget
            return Reason(
                "over_budget", found=after, needed=self.budget, basis=rule.basis, note=rule.note or ""
            )
        return None

    def clash(self, other: LoadJob, job: LoadJob, *, heavy: bool = True) -> Clash | None:
        """Return why a job cannot stand on its day beside another: one of an earlier day, or of the same cycle.

        The rule of the pair is told first, then the longest wait, then that both are ``heavy``: the plan keeps those apart.
        """
        if self.one_job(other, job):
            return None
        clashes: list[Clash] = []
        if other.on <= job.on:
            waits = (*self._gaps(other, job), *self._recovery(other, job))
            longer = [wait for wait in waits if wait.until is None or wait.until > job.on]
            clashes = sorted(longer, key=lambda wait: wait.until or date.max, reverse=True)
        if self.cycle(other) == self.cycle(job):
            over = self.calendar.next_start(job.on)
            pair, both = self._same_cycle(other, job), self._one_heavy(other, job) if heavy else ()
            clashes = [
                *(Clash(reason, over) for reason in pair),
                *clashes,
                *(Clash(reason, over) for reason in both),
            ]
        if not clashes:
            return None
        until = [clash.until for clash in clashes if clash.until is not None]
        return Clash(clashes[0].reason, max(until) if len(until) == len(clashes) else None)

    def _same_cycle(self, other: LoadJob, job: LoadJob) -> Iterator[Reason]:
        for rule in self._apart(other, job):
            if rule.same_cycle:
                yield _kept_apart(rule, other)
        for hold in self._holds(other, job):
            if hold.same_cycle:
                yield Reason(
                    "same_cycle",
                    subject=other.operation,
                    found=other.on,
                    basis=hold.basis,
                    source=hold.source or "",
                )

    def _one_heavy(self, other: LoadJob, job: LoadJob) -> Iterator[Reason]:
        if min(other.weight, job.weight) >= HEAVY and other.operation != job.operation:
            cycle = self.cycle(job)
            if not any(asked_for_anyway(heavy.operation, self.state, cycle) for heavy in (other, job)):
                yield Reason("heavy_done", subject=other.operation, found=other.on)

    def _gaps(self, other: LoadJob, job: LoadJob) -> Iterator[Clash]:
        for rule in self._apart(other, job):
            if rule.weeks is not None:
                yield Clash(_kept_apart(rule, other), other.on + timedelta(weeks=rule.weeks))
        for hold in self._holds(other, job):
            if hold.weeks is not None:
                values = {"subject": other.operation, "found": other.on, "needed": hold.weeks, "unit": "wk"}
                reason = Reason("hold", basis=hold.basis, source=hold.source or "", **values)  # type: ignore[arg-type]
                yield Clash(reason, other.on + timedelta(weeks=hold.weeks))

        back = [
            held for held in self.regrowth if (held[1].subject, held[1].found) == (other.operation, other.on)
        ]
        for work in self._works(job) if back else ():
            for until, reason in held_for_leaves(work, back, self.operations, self.rules):
                yield Clash(reason, until)

    def not_recovered(self, other: LoadJob, job: LoadJob) -> Iterator[Clash]:
        """Yield that a tree has not recovered by the day of a job from one of before, sittings of one job aside."""
        if other.on <= job.on and not self.one_job(other, job):
            yield from self._recovery(other, job)

    def _recovery(self, other: LoadJob, job: LoadJob) -> Iterator[Clash]:
        """Yield that a heavy job is not recovered from; light work makes nothing wait but by a gap."""
        rule = self.rules.recovery.get(other.operation)
        known = 0 <= self.air.axis.index(other.on) < self._heat.shape[1]
        if rule is None or other.weight < HEAVY or job.operation in rule.lets or not known:
            return
        recovery = self.recovered(other.operation, other.on)
        until = None if recovery is None else recovery.likely
        values = {"subject": other.operation, "found": other.on, "needed": until}
        yield Clash(Reason("not_recovered", basis=rule.basis, note=rule.note or "", **values), until)  # type: ignore[arg-type]

    def _apart(self, job: LoadJob, other: LoadJob) -> Iterator[ApartRule]:
        pair = sorted((job.operation, other.operation))
        return (rule for rule in self.rules.apart if sorted(rule.of) == pair)

    def _holds(self, other: LoadJob, job: LoadJob) -> Iterator[Hold]:
        """Yield the waits of the tree's profile; of an operation's several windows each has its own."""
        return (hold for work in self._works(job) for hold in work.holds if hold.after == other.operation)

    def _works(self, job: LoadJob) -> Iterator[Work]:
        return (work for work in self.profile.work if work.operation == job.operation)


def _kept_apart(rule: ApartRule, other: LoadJob) -> Reason:
    code = "apart_cycle" if rule.same_cycle else "apart_weeks"
    return Reason(
        code, subject=other.operation, found=other.on, needed=rule.weeks, unit="wk", basis=rule.basis,
        source=rule.source or "", note=rule.why,
    )  # fmt: skip
