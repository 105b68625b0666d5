"""What would follow from work on a day: two plans compared, with it and without; nothing is stored."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.planner import air_over, make_plan

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from uuid import UUID

    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.items import Item, NotPlanned, Plan
    from calendar_core.planning.seasons.species_stages import Grove, Sky

Key = tuple["UUID", str, int, "UUID | None"]

MOVED_DAYS = 3  # a window that moves less is the same to a grower (estimate)


@dataclass(frozen=True, slots=True)
class Moved:
    """A window before and after."""

    before: Item
    after: Item


@dataclass(frozen=True, slots=True)
class Consequences:
    """What work would bring: new looks, windows that move or go (with why), and hard leaves before frost.

    ``plan`` is that of the day of the work, without it. ``hard_by`` is the day on which the new leaves are likely hard, ``chance`` the share of years in which no frost
    comes before; both None where no leaves are taken.
    """

    plan: Plan
    looks: tuple[Item, ...]
    moved: tuple[Moved, ...]
    gone: tuple[tuple[Item, NotPlanned | None], ...]
    new: tuple[Item, ...]
    hard_by: date | None
    chance: float | None


def consequences(
    without: Grove, done: Grove, sky: Sky, knowledge: Knowledge, on: date, operation: str
) -> Consequences:
    """Return what differs between a garden's plans of a day without and with work done on it."""
    before, after = (make_plan(grove, sky, knowledge, on) for grove in (without, done))
    old, new = _items(before), _items(after)
    fresh = [item for key, item in new.items() if key not in old]
    moved = [Moved(old[key], item) for key, item in new.items() if key in old and _far(old[key], item)]
    lost = [(item, _why(item, after)) for key, item in old.items() if key not in new]
    species = {tree.species for tree in done.trees}
    hard_by, chance = (
        _hard(done, sky, knowledge, on, knowledge.profiles[species.pop()])
        if knowledge.operations[operation].takes == "leaves" and len(species) == 1
        else (None, None)
    )
    return Consequences(
        before,
        tuple(item for item in fresh if item.label),
        tuple(moved),
        tuple(lost),
        tuple(item for item in fresh if not item.label),
        hard_by,
        chance,
    )


def _items(plan: Plan) -> Mapping[Key, Item]:
    return {
        (i.tree_id, i.rule, i.cycle, i.follows.part if i.follows else None): i
        for i in plan.items
        if i.status != "possible"
    }


def _far(before: Item, after: Item) -> bool:
    return any(
        abs((getattr(before, edge).likely - getattr(after, edge).likely).days) >= MOVED_DAYS
        for edge in ("opens", "closes")
    )


def _why(item: Item, plan: Plan) -> NotPlanned | None:
    here = (item.tree_id, item.rule, item.cycle)
    return next(
        (absence for absence in plan.not_planned if (absence.tree_id, absence.rule, absence.cycle) == here),
        None,
    )


def _hard(
    grove: Grove, sky: Sky, knowledge: Knowledge, on: date, profile: Profile
) -> tuple[date | None, float | None]:
    """Return when leaves taken on a day are replaced by hard ones, and the chance that no frost comes before."""
    releaf, hardening = profile.aftercare.releaf_weeks, profile.aftercare.hardening_weeks
    if releaf is None:
        return None, None
    weeks = (releaf.low + releaf.high + hardening.low + hardening.high) / 2
    air = air_over(grove.garden, sky, knowledge, on)
    first = air.axis.index(on)
    last = math.ceil(first + 7 * weeks)
    frost = (air.t_min_c[:, first : last + 1] <= air.frost_c).any(axis=1)
    return air.axis.day(last), float(np.mean(~frost))
