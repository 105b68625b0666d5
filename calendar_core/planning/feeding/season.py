"""The season of fertilizing: windows and phases of a tree's year, bloom, frosts and the heat to come."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, get_args

import numpy as np

from calendar_core.knowledge.forms.feeding import FeedingPhase
from calendar_core.knowledge.forms.operations import is_feeding
from calendar_core.planning.items import PUBLISH_FROM, NotPlanned, Range, Reason
from calendar_core.planning.seasons.members import quantiles

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from uuid import UUID

    from calendar_core.knowledge.forms.feeding import Begin
    from calendar_core.knowledge.forms.operations import Operation
    from calendar_core.planning.items import Item, StageDate
    from calendar_core.planning.seasons.air import Air

LOW_NITROGEN = "feeding low nitrogen"
PHASES: tuple[str, ...] = get_args(FeedingPhase)  # in the order of the year


@dataclass(frozen=True, slots=True)
class FeedingWindow:
    """A window of fertilizing by its likely dates, the wait from one time to the next left out."""

    operation: str
    cycle: int
    opens: date
    closes: date
    reasons: tuple[Reason, ...]


def windows(items: Iterable[Item], operations: Mapping[str, Operation]) -> list[FeedingWindow]:
    """Return the windows of fertilizing among the items of a tree, the earliest first."""
    found = [
        FeedingWindow(item.operation, item.cycle, _opening(item), item.closes.likely, item.reasons)
        for item in items
        if is_feeding(item.operation, operations) and item.chance >= PUBLISH_FROM
    ]
    return sorted(found, key=lambda window: (window.opens, window.closes))


def open_on(season: Sequence[FeedingWindow], day: date) -> FeedingWindow | None:
    """Return the window that is open on a day; of several the one that opened last."""
    return next((window for window in reversed(season) if window.opens <= day <= window.closes), None)


def in_sequence(
    items: Sequence[Item], operations: Mapping[str, Operation], today: date
) -> tuple[list[Item], list[NotPlanned]]:
    """Return items of which fertilizing of a tree ends the day before the next kind of it opens, and those over by then."""
    opened: dict[UUID, list[date]] = {}
    fed = {item.id for item in items if is_feeding(item.operation, operations) and _asked(item)}
    for item in items:
        if item.id in fed:
            opened.setdefault(item.tree_id, []).append(item.opens.likely)
    out: list[Item] = []
    over: list[NotPlanned] = []
    for item in items:
        later = [day for day in opened.get(item.tree_id, ()) if item.opens.likely < day <= item.closes.likely]
        if item.id not in fed or not later:
            out.append(item)
        elif (last := min(later) - timedelta(days=1)) < today:
            over.append(NotPlanned(item.tree_id, item.operation, item.rule, item.cycle, (Reason("over"),)))
        else:
            closes = Range(
                *(min(day, last) for day in (item.closes.early, item.closes.likely, item.closes.late))
            )
            out.append(replace(item, closes=closes))
    return out, over


def _asked(item: Item) -> bool:
    return item.status != "possible" and item.chance >= PUBLISH_FROM and not item.follows


def season_end(season: Sequence[FeedingWindow], now: FeedingWindow) -> date:
    """Return when the season that ``now`` is part of ends: windows that follow at once are one season."""
    end = now.closes
    for window in season:
        if window.opens <= end + timedelta(days=7):
            end = max(end, window.closes)
    return end


def _opening(item: Item) -> date:
    """Return the likely opening; where the last time alone put it off, that time."""
    opens = item.opens.likely
    for reason in item.reasons:
        if reason.code == "again" and isinstance(reason.found, date):
            rested = reason.found + timedelta(weeks=float(str(reason.needed)))
            opens = reason.found if opens <= rested else opens
    return opens


def phase_starts(
    stages: Iterable[StageDate], begins: Iterable[Begin], kind: str, cycle: int
) -> list[tuple[date, str]]:
    """Return when the phases of a tree of this kind begin in a cycle, in order; none comes back after a later one."""
    likely = {stage: day for (stage, of), day in _likely(stages).items() if of == cycle}
    starts = sorted(
        (likely[begin.stage] + timedelta(days=begin.days), begin.phase)
        for begin in begins
        if begin.stage in likely and kind in (begin.kinds or (kind,))
    )
    ranks = [PHASES.index(phase) for _, phase in starts]
    return [start for i, start in enumerate(starts) if ranks[i] > max(ranks[:i], default=0)]


def bloom_starts(stages: Iterable[StageDate]) -> Iterable[date]:
    """Return when bloom likely begins, in every cycle known."""
    return (opened for opened, _ in _blooms(stages))


def bloom_end(stages: Iterable[StageDate], day: date) -> date | None:
    """Return when bloom is likely over, if a tree is in bloom on a day."""
    return next((over for opened, over in _blooms(stages) if opened <= day < over), None)


def may_bloom(stages: Iterable[StageDate], day: date, days: timedelta) -> bool:
    """Tell whether a tree may be in bloom within so many days of a day, by the whole ranges of its stages."""
    ranges = {(stage.stage, stage.cycle): stage.range for stage in stages if stage.range is not None}
    spans = (
        (opened.early, ranges["bloom_over", cycle].late)
        for (stage, cycle), opened in ranges.items()
        if stage == "flowering" and ("bloom_over", cycle) in ranges
    )
    return any(opened - days <= day <= over + days for opened, over in spans)


def _blooms(stages: Iterable[StageDate]) -> Iterator[tuple[date, date]]:
    likely = _likely(stages)
    for (stage, cycle), opened in likely.items():
        if stage == "flowering" and ("bloom_over", cycle) in likely:
            yield opened, likely["bloom_over", cycle]


def _likely(stages: Iterable[StageDate]) -> dict[tuple[str, int], date]:
    """Return the likely dates of stages by name and cycle, of those that come in most years."""
    return {
        (stage.stage, stage.cycle): stage.range.likely
        for stage in stages
        if stage.range and stage.share >= PUBLISH_FROM
    }


def autumn_frosts(air: Air) -> dict[int, date]:
    """Return the likely first frost of autumn by cycle, where most years have one."""
    axis = air.axis
    out: dict[int, date] = {}
    for cycle in range(axis.start.year, axis.day(axis.n_days - 1).year + 1):
        if 0 <= axis.midsummer(cycle) < axis.n_days:
            labels = air.first_frost(cycle)
            has = np.isfinite(labels)
            if has.mean() >= PUBLISH_FROM:
                (found,) = axis.ranges(quantiles(labels[None, :, None], has[None, :, None]))
                out |= {cycle: found.likely} if found else {}
    return out
