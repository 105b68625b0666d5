"""What stops the fertilizing of a tree, why, and until when."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.planning.feeding.season import bloom_end
from calendar_core.planning.items import Reason
from calendar_core.planning.waits import wait_after, wait_end
from calendar_core.species.vocabulary import is_feeding

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from calendar_core.garden.state import TreeState
    from calendar_core.planning.feeding.season import Window
    from calendar_core.planning.items import Item, NotPlanned, StageDate
    from calendar_core.species.feeding import FeedingRules, Heat
    from calendar_core.species.schema import Profile
    from calendar_core.species.vocabulary import Operation

TELLING = (
    "vigour_low",
    "no_winter",
    "dropped",
)  # of works that are not planned: why there is no season at all


@dataclass(frozen=True)
class Case:
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
class Hold:
    """One thing that stops it, until ``end`` where that is known; if ``dissolved``, cakes need not wait."""

    reason: Reason
    end: date | None
    dissolved: bool = False


def holds(
    case: Case,
    rules: FeedingRules,
    operations: Mapping[str, Operation],
    season: Sequence[Window],
    now: Window | None,
    day: date,
) -> list[Hold]:
    """Return all that stops it on a day, one for each thing; ``now`` is the window that is open."""
    found = [] if now is not None else _out_of_season(case, operations, season, day)
    found += [*_bloom(case.stages, day), *after_work(case.state, rules, day)]
    return _one_for_each(found)


def heat_c(case: Case, heat: Heat, day: date) -> float | None:
    """Return the maximum that the next days all reach [degC], None where it is not known."""
    first = (day - case.today).days
    run = case.maxima_c[first : first + heat.run_days]
    return min(run) if run else None


def heat_turns(case: Case, heat: Heat, day: date) -> list[date]:
    """Return the days after ``day`` on which it becomes hotter or cooler than one of the lines, as far as is known."""
    last = len(case.maxima_c) - heat.run_days
    days = [day + timedelta(days=n) for n in range(max(0, last - (day - case.today).days + 1))]
    levels = [_lines_passed(heat_c(case, heat, one), heat) for one in days]
    return [one for one, level, before in zip(days[1:], levels[1:], levels, strict=False) if level != before]


def _lines_passed(maximum: float | None, heat: Heat) -> int:
    return sum(maximum is not None and maximum >= line for line in (heat.less_from_c, heat.none_from_c))


def heat_hold(case: Case, heat: Heat, day: date, most_percent: float) -> list[Hold]:
    """Return the hold of hot days; ``most_percent`` is what is given from the lower line on."""
    line = heat.none_from_c if most_percent > 0 else heat.less_from_c
    now = heat_c(case, heat, day)
    if now is None or now < line:
        return []
    cooler = (turn for turn in heat_turns(case, heat, day) if (heat_c(case, heat, turn) or 0.0) < line)
    reason = Reason("feeding_hot", needed=line, unit="degC", basis=heat.basis, source=heat.source or "")
    return [Hold(reason, next(cooler, None))]


def after_work(state: TreeState, rules: FeedingRules, day: date) -> list[Hold]:
    """Return the holds after work on a day."""
    waits = ((one, wait) for one in rules.after if (wait := wait_after(one, state)) is not None)
    return [Hold(reason, end, dissolved=one.dissolved) for one, (end, reason) in waits if day < end]


def _out_of_season(
    case: Case, operations: Mapping[str, Operation], season: Sequence[Window], day: date
) -> list[Hold]:
    """Return what the next window waits for, or why there is none."""
    coming = next((one for one in season if one.opens > day), None)
    if coming is not None:
        waits = [r for r in coming.reasons if r.code in ("hold", "put_off") and wait_end(r) > day]
        told = waits or [r for r in coming.reasons if r.code.startswith("opens_")]
        return [
            Hold(reason, coming.opens) for reason in told or [Reason("feeding_later", found=coming.opens)]
        ]
    works = [one for one in case.absent if is_feeding(one.operation, operations)]
    told = [reason for one in works for reason in one.reasons if reason.code in TELLING]
    return [Hold(reason, None) for reason in told or [Reason("feeding_no_season")]]


def _bloom(stages: Sequence[StageDate], day: date) -> Iterable[Hold]:
    over = bloom_end(stages, day)
    if over is not None:
        yield Hold(Reason("feeding_bloom", found=over), over)


def _one_for_each(found: Iterable[Hold]) -> list[Hold]:
    """Return the longest hold of each thing, in the order found; one for all kinds of fertilizer goes first."""
    longest: dict[tuple[str, str], Hold] = {}
    for hold in found:
        key = (hold.reason.code, hold.reason.subject)
        other = longest.get(key)
        if other is None or _length(hold) > _length(other):
            longest[key] = hold
    return list(longest.values())


def _length(hold: Hold) -> tuple[date, bool]:
    return (hold.end or date.max, not hold.dissolved)
