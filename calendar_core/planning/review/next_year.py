"""The year that comes out of a review: the one heavy job of each tree in a week with time for it, and what rests."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.cycle import calendar_of
from calendar_core.garden.state import asked_for_anyway
from calendar_core.knowledge.forms.operations import HEAVY
from calendar_core.planning.groups import last_day_of
from calendar_core.planning.items import PUBLISH_FROM, NotPlanned, Reason
from calendar_core.planning.review.assignment import NOWHERE, assigned
from calendar_core.planning.rota.tasks import CLAIM, SIZE

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from uuid import UUID

    from numpy.typing import NDArray

    from calendar_core.garden.model import Tree
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.review import ReviewRules
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.items import Item, Plan
    from calendar_core.planning.seasons.species_stages import Grove

    Ints = NDArray[np.int64]

YEAR_DAYS = 365
WEEK_DAYS = 7
REPOT, RECOVERY, BAD = "repot", "recovery", "bad"
DRAINAGE, ROOTS, POT = "drainage", "roots", "pot"  # checks of config/review.toml that speak for repotting
WISHED = 4  # worth of what was asked for beside `CLAIM`, which the rota counts by the week
PUT_OFF = frozenset({
    "one_heavy_job", "heavy_done", "same_cycle", "apart_cycle", "apart_weeks", "not_recovered", "over_budget",
    "makes_room", "dropped",
})  # fmt: skip
"""Why work rests that would be due: other work, or the grower's answer."""
PAST = frozenset({"over", "too_late", "aim_unfit"})


@dataclass(frozen=True, slots=True)
class HeavyJob:
    """A heavy job of a tree: the items done together, from ``first`` to ``last``, as long as the calendar asks for it.

    ``safe`` is the last day that is safe in nine years of ten; where both ends are uncertain it may come before
    ``first``. ``beside`` tells that the grower wants it besides another heavy job.
    """

    tree_id: UUID
    operation: str
    items: tuple[Item, ...]
    minutes: int
    first: date
    last: date
    safe: date
    beside: bool = False

    @property
    def worth(self) -> int:
        """What leaving it out costs beside others."""
        if any(item.status == "wished" for item in self.items):
            return WISHED
        return max(CLAIM.get(item.reasons[0].code if item.reasons else "", 1) for item in self.items)

    @property
    def place(self) -> tuple[date, date, str]:
        """What jobs are listed by."""
        return self.first, self.last, str(self.items[0].id)


@dataclass(frozen=True, slots=True)
class WeekJob:
    """A job in a week: ``week`` is its first day, today in the week that runs."""

    week: date
    job: HeavyJob


@dataclass(frozen=True, slots=True)
class Spared:
    """A tree that gets no heavy work in the coming year, and why."""

    tree_id: UUID
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class SoilSigns:
    """What the last review found of a tree's soil and pot and speaks for repotting.

    ``seconds`` to drain where those are too many, ``bad`` the checks that are.
    """

    tree_id: UUID
    seconds: float | None
    bad: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NextYear:
    """Heavy jobs by week, those without an hour, what rests and why, trees to leave alone, and signs of the soil.

    ``proven`` tells that no other choice does more.
    """

    jobs: tuple[WeekJob, ...]
    no_time: tuple[HeavyJob, ...]
    put_off: tuple[NotPlanned, ...]
    spared: tuple[Spared, ...]
    soil: tuple[SoilSigns, ...]
    proven: bool

    @property
    def minutes(self) -> int:
        """How long all of it takes."""
        return sum(placed.job.minutes for placed in self.jobs)


def next_year(plan: Plan, grove: Grove, knowledge: Knowledge, free: Ints) -> NextYear:
    """Return the heavy work of the coming year.

    Parameters
    ----------
    plan : Plan
        Of today; its rules of spacing have settled what a tree bears.
    grove, knowledge
    free : (n_days,) [min]
        The time there is on each day from today on; what opens later is not looked at.
    """
    end = plan.today + timedelta(days=len(free))
    jobs = sorted(_jobs(plan, grove.states, knowledge, end), key=lambda job: job.place)
    weeks, places, proven = _placed(jobs, plan.today, free)
    placed = [WeekJob(weeks[place], job) for job, place in zip(jobs, places, strict=True) if place != NOWHERE]
    placed.sort(key=lambda found: (found.week, *found.job.place))
    chosen = {_rivals(found.job): found.job for found in placed}
    left: dict[tuple[object, ...], HeavyJob] = {}
    for job in sorted(jobs, key=lambda job: -job.worth):
        if _rivals(job) not in chosen:
            left.setdefault(_rivals(job), job)
    lost = [
        _lost(item, chosen[_rivals(job)])
        for job, place in zip(jobs, places, strict=True)
        if place == NOWHERE and _rivals(job) in chosen and job.operation != chosen[_rivals(job)].operation
        for item in job.items[:1]
    ]
    best = {key: max(job.worth for job in jobs if _rivals(job) == key) for key in chosen}
    whole = not left and all(job.worth == best[key] for key, job in chosen.items())
    due = {job.tree_id for job in jobs}
    spared = tuple(_spared(plan, grove, knowledge, due))
    rests = {tree.tree_id for tree in spared}
    put_off = (*(absent for absent in plan.not_planned if _rests(absent, knowledge)), *lost)
    return NextYear(
        tuple(placed), tuple(sorted(left.values(), key=lambda job: job.place)),
        tuple(absent for absent in put_off if absent.tree_id not in rests),
        spared, soil_signs(grove, knowledge.review), proven or whole,
    )  # fmt: skip


# -- what is to be done --------------------------------------------------------------------------------


def _jobs(
    plan: Plan, states: Mapping[UUID, TreeState], knowledge: Knowledge, end: date
) -> Iterator[HeavyJob]:
    """Yield the heavy jobs that open before a day; parts of a tree that get the same have it done at once."""
    together: defaultdict[tuple[UUID, str, int], list[Item]] = defaultdict(list)
    for item in plan.items:
        heavy = knowledge.operations[item.operation].weight >= HEAVY and item.follows is None
        wanted = item.status != "possible" and item.chance >= PUBLISH_FROM
        if not (heavy and wanted and item.opens.likely < end):
            continue
        if item.part_id is None:
            yield _job([item], states, knowledge, plan.today)
        else:
            together[item.tree_id, item.operation, item.cycle].append(item)
    for items in together.values():
        some: list[Item] = []
        for item in sorted(items, key=lambda item: item.opens.likely):
            if some and not _overlap([*some, item], plan.today):
                yield _job(some, states, knowledge, plan.today)
                some = []
            some.append(item)
        yield _job(some, states, knowledge, plan.today)


def _job(
    items: Sequence[Item], states: Mapping[UUID, TreeState], knowledge: Knowledge, today: date
) -> HeavyJob:
    item, state = items[0], states[items[0].tree_id]
    first, last = _window(items, today)
    return HeavyJob(
        item.tree_id, item.operation, tuple(items),
        ceil(knowledge.operations[item.operation].minutes * SIZE[state.size] * len(items)), first, max(first, last),
        min(each.closes.early for each in items),
        asked_for_anyway(item.operation, state, item.cycle),
    )  # fmt: skip


def _window(items: Sequence[Item], today: date) -> tuple[date, date]:
    """Return from when and until when all of some items are asked for; the second may come before the first."""
    return max(today, *(item.opens.likely for item in items)), min(map(last_day_of, items))


def _overlap(items: Sequence[Item], today: date) -> bool:
    first, last = _window(items, today)
    return first <= last


def _rivals(job: HeavyJob) -> tuple[object, ...]:
    """Return what only one job is of in the year: a tree; what is wished beside others stands by itself.

    A plan counts by cycles, and may ask for the end of one and the beginning of the next within weeks: here the one
    worth more goes before.
    """
    return job.tree_id, job.operation if job.beside else ""


# -- when ----------------------------------------------------------------------------------------------


def _placed(jobs: Sequence[HeavyJob], today: date, free: Ints) -> tuple[list[date], list[int], bool]:
    """Return the weeks (their first days from today on), the place of each job's among them, and whether it is proven."""
    week = (np.arange(len(free)) + today.weekday()) // WEEK_DAYS
    weeks = [today + timedelta(days=int(np.argmax(week == n))) for n in range(int(week.max(initial=-1)) + 1)]
    if not jobs:
        return weeks, [], True
    rivals = list(dict.fromkeys(map(_rivals, jobs)))
    minutes = np.array([job.minutes for job in jobs], dtype=np.int64)
    room = np.bincount(week, free, len(weeks)).astype(np.int64)
    within = np.array([_minutes_in(job, today, free, week, len(weeks)) for job in jobs])
    places, proven = assigned(
        np.array([job.worth for job in jobs], dtype=np.int64), minutes, within >= minutes[:, None], room,
        np.array([rivals.index(_rivals(job)) for job in jobs], dtype=np.int64),
    )  # fmt: skip
    return weeks, places, proven


def _minutes_in(job: HeavyJob, today: date, free: Ints, week: Ints, n_weeks: int) -> Ints:
    """Return the free minutes of each week (n_weeks,) that lie in a job's window."""
    day = np.arange(len(free))
    inside = (day >= (job.first - today).days) & (day <= (job.last - today).days)
    return np.bincount(week[inside], free[inside], n_weeks).astype(np.int64)


# -- what rests ----------------------------------------------------------------------------------------


def _rests(absent: NotPlanned, knowledge: Knowledge) -> bool:
    codes = {reason.code for reason in absent.reasons}
    heavy = knowledge.operations[absent.operation].weight >= HEAVY
    return heavy and bool(codes & PUT_OFF) and not codes & PAST


def _lost(item: Item, chosen: HeavyJob) -> NotPlanned:
    reason = Reason("one_heavy_job", subject=chosen.operation, found=chosen.first)
    return NotPlanned(item.tree_id, item.operation, item.rule, item.cycle, (reason,))


def _spared(plan: Plan, grove: Grove, knowledge: Knowledge, due: set[UUID]) -> Iterator[Spared]:
    """Yield trees that are weak, are to recover, or bore a heavy job in the cycle that runs, and have none to come."""
    weak = knowledge.review.full.weak_vigour
    for tree in grove.trees:
        if tree.id in due:
            continue
        state, reasons = grove.states[tree.id], []
        if state.vigour <= weak.value:
            reasons.append(Reason("spared_weak", found=state.vigour, needed=weak.value + 1, basis=weak.basis))
        if state.aim == RECOVERY:
            reasons.append(Reason("spared_recovers"))
        reasons += _borne(tree, plan, grove, knowledge)
        if reasons:
            yield Spared(tree.id, tuple(reasons))


def _borne(tree: Tree, plan: Plan, grove: Grove, knowledge: Knowledge) -> list[Reason]:
    """Return the last heavy job that a tree had in the cycle that runs."""
    calendar, middles = (
        calendar_of(grove.garden, knowledge.profiles[tree.species]),
        plan.middles.get(tree.id, {}),
    )
    now = calendar.cycle(plan.today)
    heavy = [
        done
        for done in grove.states[tree.id].done
        if knowledge.operations[done.operation].weight >= HEAVY
        and calendar.belongs(done.on, middles.get(done.operation, ())) == now
    ]
    return [Reason("heavy_done", subject=done.operation, found=done.on) for done in heavy[-1:]]


def soil_signs(grove: Grove, rules: ReviewRules) -> tuple[SoilSigns, ...]:
    """Return the trees whose last review speaks for repotting; what was repotted since has new soil."""
    bad_from = rules.check[DRAINAGE].bad_from
    out = []
    for tree in grove.trees:
        state = grove.states[tree.id]
        last = state.last(REPOT)
        found: dict[str, str | float] = {}
        for review in sorted(state.reviews, key=lambda review: review.on):
            if last is None or review.on > last.on:
                found |= review.answers
        drained = found.get(DRAINAGE)
        slow = isinstance(drained, int | float) and bad_from is not None and drained >= bad_from
        bad = tuple(check for check in (ROOTS, POT) if found.get(check) == BAD)
        if slow or bad:
            out.append(SoilSigns(tree.id, float(drained) if slow and drained is not None else None, bad))
    return tuple(out)
