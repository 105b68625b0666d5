"""What stops the fertilizing of a tree, why, and until when."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.knowledge.forms.operations import is_feeding
from calendar_core.planning.feeding.season import bloom_end
from calendar_core.planning.items import PUBLISH_FROM, Reason
from calendar_core.planning.waits import wait_after, wait_end

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.feeding import FeedBefore, FeedingRules, Heat
    from calendar_core.knowledge.forms.operations import Operation
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.planning.feeding.season import FeedingWindow
    from calendar_core.planning.items import Item, NotPlanned, StageDate

DAY, WEEK = timedelta(days=1), timedelta(weeks=1)
TELLING = (
    "vigour_low",
    "no_winter",
    "dropped",
)  # of works that are not planned: why there is no season at all


@dataclass(frozen=True)
class FeedingCase:
    """A tree as it stands on ``today``.

    ``items`` and ``absent`` are what the plan says of it; ``frosts`` the likely first frost of autumn by cycle;
    ``maxima_c`` the day maxima expected from today on [degC].
    """

    profile: Profile
    state: TreeState
    stages: Sequence[StageDate]
    items: Sequence[Item]
    absent: Sequence[NotPlanned]
    today: date
    frosts: Mapping[int, date] = field(default_factory=dict)
    maxima_c: Sequence[float] = ()


@dataclass(frozen=True)
class FeedingHold:
    """One thing that stops it, until ``end`` where that is known; if ``dissolved``, cakes need not wait."""

    reason: Reason
    end: date | None
    dissolved: bool = False


def holds(
    case: FeedingCase,
    rules: FeedingRules,
    operations: Mapping[str, Operation],
    season: Sequence[FeedingWindow],
    now: FeedingWindow | None,
    day: date,
) -> list[FeedingHold]:
    """Return all that stops it on a day, one for each thing; ``now`` is the window that is open."""
    found = [] if now is not None else _out_of_season(case, operations, season, day)
    found += [*_bloom(case.stages, day), *after_work(case.state, rules, day)]
    found += holds_ahead(case, rules, operations, day)
    return _one_for_each(found)


def heat_c(case: FeedingCase, heat: Heat, day: date) -> float | None:
    """Return the maximum that the next days all reach [degC], None where it is not known."""
    first = (day - case.today).days
    run = case.maxima_c[first : first + heat.run_days]
    return min(run) if run else None


def heat_turns(case: FeedingCase, heat: Heat, day: date) -> list[date]:
    """Return the days after ``day`` on which it becomes hotter or cooler than one of the lines, as far as is known."""
    last = len(case.maxima_c) - heat.run_days
    days = [day + timedelta(days=n) for n in range(max(0, last - (day - case.today).days + 1))]
    levels = [_lines_passed(heat_c(case, heat, later), heat) for later in days]
    return [
        later for later, level, before in zip(days[1:], levels[1:], levels, strict=False) if level != before
    ]


def _lines_passed(maximum: float | None, heat: Heat) -> int:
    return sum(maximum is not None and maximum >= line for line in (heat.less_from_c, heat.none_from_c))


def heat_hold(case: FeedingCase, heat: Heat, day: date, most_percent: float) -> list[FeedingHold]:
    """Return the hold of hot days; ``most_percent`` is what is given from the lower line on."""
    line = heat.none_from_c if most_percent > 0 else heat.less_from_c
    now = heat_c(case, heat, day)
    if now is None or now < line:
        return []
    cooler = (turn for turn in heat_turns(case, heat, day) if (heat_c(case, heat, turn) or 0.0) < line)
    reason = Reason("feeding_hot", needed=line, unit="degC", basis=heat.basis, source=heat.source or "")
    return [FeedingHold(reason, next(cooler, None))]


def after_work(state: TreeState, rules: FeedingRules, day: date) -> list[FeedingHold]:
    """Return the holds after work on a day."""
    waits = ((rule, wait) for rule in rules.after if (wait := wait_after(rule, state)) is not None)
    return [FeedingHold(reason, end, dissolved=rule.dissolved) for rule, (end, reason) in waits if day < end]


def holds_ahead(
    case: FeedingCase, rules: FeedingRules, operations: Mapping[str, Operation], day: date
) -> list[FeedingHold]:
    """Return the holds for planned work on a day."""
    waits = waits_ahead(case, rules, operations)
    return [hold for first, hold in waits if first <= day and (hold.end is None or day < hold.end)]


def waits_ahead(
    case: FeedingCase, rules: FeedingRules, operations: Mapping[str, Operation]
) -> Iterator[tuple[date, FeedingHold]]:
    """Yield the waits for work that is planned, each with its first day: they end as those after the work do."""
    for rule in rules.before:
        works = (work for work in case.profile.work if is_feeding(work.operation, operations))
        own = [hold.weeks for work in works for hold in work.holds if hold.after == rule.operation]
        of_all = [
            after.weeks
            for after in rules.after
            if after.operation == rule.operation and case.state.aim in after.aims
        ]
        weeks = max((wait for wait in (*own, *of_all) if wait is not None), default=0.0)
        for item in case.items:
            if item.operation == rule.operation and is_expected(item, rule, case.today):
                on = expected_on(item, case.today)
                why = Reason(
                    "work_ahead", rule.operation, on, weeks, "wk", basis=rule.basis, note=rule.note or ""
                )
                yield on - timedelta(weeks=rule.weeks), FeedingHold(why, on + timedelta(weeks=weeks))


def is_expected(item: Item, rule: FeedBefore, today: date) -> bool:
    """Tell whether planned work is about to be done: its window opens, has just opened, or is about to close."""
    if item.status == "possible" or item.chance < PUBLISH_FROM:
        return False
    on, long = max(item.opens.likely, today), timedelta(weeks=rule.open_weeks)
    return on - item.opens.likely <= long or item.closes.likely - on <= long


def expected_on(item: Item, today: date) -> date:
    """Return the day on which planned work is expected: as it opens; then as a week of it ends, lest what waits for it moves each day."""
    if item.opens.likely >= today:
        return item.opens.likely
    day = item.opens.likely + WEEK * ((today - item.opens.likely) // WEEK + 1) - DAY
    return min(day, item.closes.likely) if item.closes.likely >= today else day


def _out_of_season(
    case: FeedingCase, operations: Mapping[str, Operation], season: Sequence[FeedingWindow], day: date
) -> list[FeedingHold]:
    """Return what the next window waits for, or why there is none."""
    coming = next((window for window in season if window.opens > day), None)
    if coming is not None:
        waits = [
            r for r in coming.reasons if r.code in ("hold", "put_off", "work_ahead") and wait_end(r) > day
        ]
        waits.sort(key=wait_end, reverse=True)  # one that another outlasts is not told
        told = waits or [r for r in coming.reasons if r.code.startswith("opens_")]
        return [
            FeedingHold(reason, coming.opens)
            for reason in told or [Reason("feeding_later", found=coming.opens)]
        ]
    works = [absence for absence in case.absent if is_feeding(absence.operation, operations)]
    told = [reason for absence in works for reason in absence.reasons if reason.code in TELLING]
    return [FeedingHold(reason, None) for reason in told or [Reason("feeding_no_season")]]


def _bloom(stages: Sequence[StageDate], day: date) -> Iterable[FeedingHold]:
    over = bloom_end(stages, day)
    if over is not None:
        yield FeedingHold(Reason("feeding_bloom", found=over), over)


def _one_for_each(found: Iterable[FeedingHold]) -> list[FeedingHold]:
    """Return the longest hold of each thing, in the order found; one for all kinds of fertilizer goes first."""
    longest: dict[tuple[str, str], FeedingHold] = {}
    for hold in found:
        key = (hold.reason.code, hold.reason.subject)
        other = longest.get(key)
        if other is None or _length(hold) > _length(other):
            longest[key] = hold
    return list(longest.values())


def _length(hold: FeedingHold) -> tuple[date, bool]:
    return (hold.end or date.max, not hold.dissolved)
