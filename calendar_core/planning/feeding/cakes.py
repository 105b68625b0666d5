"""Fertilizer cakes: how many a pot gets, when those on it are replaced, and when they come off."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from math import ceil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from calendar_core.garden.state import TreeState
    from calendar_core.species import feeding

CAKES, REMOVED = "feeding cakes", "remove cakes"


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
    rules: feeding.Cakes,
    percent: float,
    day: date,
    season_end: date | None,
    heat_c: float | None,
) -> Cakes:
    """Return what cakes a tree has and gets at so many per cent of full strength; 0 where it waits.

    ``heat_c`` is the day maximum to come, where known.
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
        return Cakes(number, weeks, since, take_off=day)
    first, last = (since + timedelta(weeks=one) for one in weeks)
    ends_first = season_end is not None and season_end <= first
    return Cakes(
        number, weeks, since,
        replace_from=None if ends_first else first,
        replace_by=None if ends_first else last,
        take_off=season_end,
    )  # fmt: skip


def cake_weeks(state: TreeState, rules: feeding.Cakes) -> tuple[float, float]:
    """Return after how many weeks cakes are replaced, from low to high."""
    return rules.development_weeks if state.aim in rules.development else rules.weeks


def lying_since(state: TreeState) -> date | None:
    """Return when the cakes that lie on the pot were put on, or changed at a look, if any do."""
    put_on, taken_off = state.last(CAKES), state.last(REMOVED)
    if put_on is None or (taken_off is not None and taken_off.on >= put_on.on):
        return None
    changed = [look.on for look in state.looks if look.of == put_on.entry and look.well]
    return max([put_on.on, *changed])
