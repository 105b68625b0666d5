"""One year of a species at a place: its stages and the windows of all its work, for a tree of which nothing is known."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from uuid import UUID

import numpy as np

from calendar_core.garden.model import Tree
from calendar_core.garden.state import TreeState
from calendar_core.planning.seasons.members import quantiles
from calendar_core.planning.seasons.species_stages import Grove, SpeciesStages
from calendar_core.planning.works.windows import Variant, summarise, window

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from calendar_core.garden.model import Garden
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.forms.species.work import Work
    from calendar_core.planning.items import Range, Reason
    from calendar_core.planning.seasons.air import Air
    from calendar_core.planning.seasons.axis import Axis
    from calendar_core.planning.seasons.species_stages import Season, Sky
    from calendar_core.planning.works.anchors import Limit

NOBODY = UUID(int=0)


@dataclass(frozen=True)
class WorkYear:
    """The window of a work: ranges of opening and closing, None where it does not come, its chance, and why then."""

    work: Work
    opens: Range | None
    closes: Range | None
    chance: float
    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class SpeciesYear:
    """A cycle of a species: ``stages`` by name in the order of the profile, ``works`` in that order too."""

    cycle: int
    stages: Mapping[str, Range | None]
    works: tuple[WorkYear, ...]


def species_year(garden: Garden, sky: Sky, air: Air, profile: Profile, today: date) -> SpeciesYear:
    """Return the cycle of the day ``today`` whole, past windows too, for an open bench and no log.

    ``air`` is that over the plan of the same garden, weather and day.
    """
    season = season_of(garden, sky, air, profile, today)
    axis = air.axis
    labels = season.at.stages
    stages = {
        name: axis.ranges(quantiles(labels[name].swapaxes(0, 1), np.isfinite(labels[name]).swapaxes(0, 1)))[0]
        for name in profile.stages
    }
    works = []
    for work in profile.work:
        span = window(work, season.at)
        summary = summarise(span, [Variant(0)], today=0, end=season.at.end - 1)
        opens, closes = axis.ranges(summary.opens)[0], axis.ranges(summary.closes)[0]
        both = (
            _when("opens", span.opens, axis),
            _when("closes", span.closing[int(summary.binding[0])], axis),
        )
        reasons = tuple(reason for reason in both if reason is not None)
        works.append(WorkYear(work, opens, closes, float(summary.chance[0]), reasons))
    return SpeciesYear(season.at.cycle, stages, tuple(works))


def _when(side: str, limit: Limit, axis: Axis) -> Reason | None:
    """Return the fact that opens or closes a window, with its likely date; None for a closing that never comes."""
    day = axis.dates(limit.fact.likely)[0]
    if day is None:
        return replace(limit.reason, code=f"never_{limit.reason.code}") if side == "opens" else None
    return replace(limit.reason, code=f"{side}_{limit.reason.code}", found=day)


def season_of(garden: Garden, sky: Sky, air: Air, profile: Profile, today: date) -> Season:
    """Return the cycle of the day ``today`` for a tree of which nothing is known."""
    tree = Tree(NOBODY, garden.id, "", "")
    grove = Grove(garden, {}, (tree,), {NOBODY: TreeState()})
    stages = SpeciesStages(grove, sky, profile, today, air, (tree,))
    cycle = stages.calendar.cycle(today)
    return next(s for s in stages.seasons if s.at.cycle == cycle)
