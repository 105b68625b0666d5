"""Fertilizer cakes: how many a pot gets, when those on it are replaced instead of other feeding, when they come off."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from math import ceil
from typing import TYPE_CHECKING

from calendar_core.knowledge.forms.operations import is_feeding
from calendar_core.planning.items import Reason

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms import feeding
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.items import Item

CAKES, REMOVED, REPOT = "feeding cakes", "remove cakes", "repot"
NEAR = timedelta(days=30)
"""By so much later than other feeding would begin, cakes that are changed still stand for it (estimate, as of other looks)."""


@dataclass(frozen=True, slots=True)
class Cakes:
    """``number`` of cakes for the pot, none while it waits; replaced after ``weeks``.

    ``since`` is when those that lie there were put on. ``replace_from`` and ``replace_by`` say when they are
    replaced, ``take_off`` when they come off for good: at the season's end, or now.
    """

    number: tuple[int, int]
    weeks: tuple[float, float]
    since: date | None = None
    replace_from: date | None = None
    replace_by: date | None = None
    take_off: date | None = None


def cakes(
    state: TreeState,
    rules: feeding.CakeRules,
    percent: float,
    day: date,
    season_end: date | None,
    heat_c: float | None,
    *,
    stays: bool = False,
) -> Cakes:
    """Return what cakes a tree has and gets at so many per cent of full strength; 0 where it waits.

    ``heat_c`` is the day maximum to come, where known. What lies on the pot ``stays`` where it waits for planned work alone.
    """
    low, high = getattr(rules.number, state.size)
    number = (ceil(low * percent / 100), ceil(high * percent / 100))
    weeks = cake_weeks(state, rules)
    if heat_c is not None and heat_c >= rules.hot_from_c:
        weeks = rules.hot_weeks
    since = lying_since(state)
    if since is None:
        return Cakes(number, weeks, take_off=season_end)
    if percent == 0:
        return Cakes(number, weeks, since, take_off=None if stays else day)
    first, last = (since + timedelta(weeks=count) for count in weeks)
    ends_first = season_end is not None and season_end <= first
    return Cakes(
        number, weeks, since,
        replace_from=None if ends_first else first,
        replace_by=None if ends_first else last,
        take_off=season_end,
    )  # fmt: skip


def changes_cakes(item: Item, knowledge: Knowledge) -> bool:
    """Tell whether a look is the one at which cakes are replaced."""
    return item.follows is not None and CAKES in knowledge.aftercare[item.follows.rule].after


def by_cakes(items: Iterable[Item], knowledge: Knowledge, today: date) -> list[Item]:
    """Return items with fertilizing merely possible where cakes are to be changed at its time: one of them is asked for."""
    out = list(items)
    changed = {item.tree_id: max(item.opens.likely, today) for item in out if changes_cakes(item, knowledge)}
    for place, item in enumerate(out):
        on = changed.get(item.tree_id)
        asked = item.status == "due" and is_feeding(item.operation, knowledge.operations)
        if asked and on is not None and item.opens.likely - NEAR <= on <= item.closes.likely:
            reasons = (*item.reasons, Reason("cakes_changed", found=on))
            out[place] = replace(item, status="possible", reasons=reasons)
    return out


def cake_weeks(state: TreeState, rules: feeding.CakeRules) -> tuple[float, float]:
    """Return after how many weeks cakes are replaced, from low to high."""
    return rules.development_weeks if state.aim in rules.development else rules.weeks


def lying_since(state: TreeState) -> date | None:
    """Return when the cakes that lie on the pot were put on, or changed at a look, if any do."""
    put_on = state.last(CAKES)
    if put_on is None:
        return None
    since = state.done[state.done.index(put_on) + 1 :]  # the log is in order, within a day too
    if any(done.operation in (REMOVED, REPOT) for done in since):
        return None
    changed = [look.on for look in state.looks if look.of == put_on.entry and look.well]
    return max([put_on.on, *changed])
