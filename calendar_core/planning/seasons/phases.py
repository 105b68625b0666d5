"""The phases of a tree's year as moments to count from: growth, hard leaves, growth stop, rest."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.cycle import YEAR_DAYS
from calendar_core.knowledge.forms.aftercare import PHASES
from calendar_core.planning.items import Range
from calendar_core.planning.seasons.axis import YEAR
from calendar_core.planning.seasons.members import QUANTILES, middles, place_of
from calendar_core.science.tree.growth import bite_rate, wire_gap
from calendar_core.science.year.degree_days import degree_days

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from calendar_core.knowledge.forms.aftercare import InSeason, YearPhase
    from calendar_core.planning.seasons.species_stages import SpeciesStages

    Floats = NDArray[np.float64]

EVERGREEN_GROWTH = "tropical"  # the habit that grows whenever it is warm


@dataclass(frozen=True)
class Phases:
    """The moments of one group of trees; labels are (n_members,), or (1,) where weather has no part in them.

    ``base_c`` is that of the heat that growth is counted by.
    """

    stages: SpeciesStages
    group: int
    base_c: float

    def begins(self, phase: YearPhase) -> list[Floats]:
        """Return the labels of a phase in each cycle, empty where the profile has none of its stages."""
        name = next((name for name in PHASES[phase] if name in self.stages.profile.stages), "")
        return self.comes(name)

    def comes(self, stage: str) -> list[Floats]:
        """Return the labels of a stage in each cycle, empty where the profile does not have it."""
        if stage not in self._kept:
            stages = [season.at.stages[stage] for season in self.stages.seasons if stage in season.at.stages]
            rows = [labels[:, self.group if labels.shape[1] > 1 else 0] for labels in stages]
            self._kept[stage] = [row.ravel() for row in rows]
        return self._kept[stage]

    @cached_property
    def _kept(self) -> dict[str, list[Floats]]:
        return {}

    def in_season(self, labels: Floats, season: InSeason) -> Floats:
        """Return labels moved to the next opening of a season where they fall outside it."""
        opens, closes = self.begins(season.opens), self.begins(season.closes)
        if not opens or not closes or self.stages.profile.habit == EVERGREEN_GROWTH:
            return labels
        moved = labels + YEAR_DAYS * _years_before(opens[0], labels, round_up=True)
        inside = (moved >= opens[0]) & (moved < closes[0])
        for begin, end in zip(opens, closes, strict=True):
            inside |= (labels >= begin) & (labels < end)
        return np.where(inside, labels, upcoming(opens, labels))

    def opening(self, season: InSeason, since: float) -> Floats:
        """Return when a season next opens; at once where there is none."""
        opens = self.begins(season.opens)
        if not opens or self.stages.profile.habit == EVERGREEN_GROWTH:
            return np.full(1, since)
        return upcoming(opens, since)

    def grows_on(self, label: float) -> bool:
        """Tell whether it likely grows on a day (label)."""
        return bool(self.growing[min(int(label + days_before(label)), self.growing.size - 1)])

    def range_of(self, labels: Floats) -> Range | None:
        """Return the range of labels, None where they come in less than half of the members."""
        finite = np.sort(labels[np.isfinite(labels)], axis=None)
        if finite.size * 2 <= labels.size:
            return None
        early, likely, late = finite[[place_of(q, np.array(finite.size - 1)) for q in QUANTILES]].tolist()
        axis = self.stages.axis
        return Range(axis.day(early), axis.day(likely), axis.day(late))

    def wire_bites(self, since: float) -> Floats:
        """Return when the time from one look at wire to the next is used up: faster in strong growth and heat.

        What was wired before the axis begins is counted as in the first year on it, or it would move on with today.
        """
        early = days_before(since)
        looks = self.stages.profile.aftercare.wire_looks_weeks
        weeks = np.full(self.stages.axis.n_days, looks.winter)
        steps = (
            ("growth", looks.extending),
            ("hard", looks.hardened),
            ("stop", looks.autumn),
            ("rest", looks.winter),
        )
        turns = [(day, value) for phase, value in steps for day in self.likely(phase)]  # type: ignore[arg-type]
        for day, value in sorted(turns):
            weeks[max(day, 0) :] = value
        daily = degree_days(self.stages.air.mean_c(), self.base_c)
        usual = degree_days(self.stages.air.mean_year, self.base_c)[None, :]
        return wire_gap(bite_rate(weeks[None, :], daily, usual), since + early).ravel() - early

    def likely(self, phase: YearPhase) -> list[int]:
        """Return the days (indices) on which a phase likely begins, in all years of the axis before the first cycle too."""
        middle = [float(middles(labels[None, None, :])[0]) for labels in self.begins(phase)]
        first = [label for label in middle[:1] if np.isfinite(label)]
        before = [label - YEAR * n for label in first for n in range(math.ceil(label / YEAR), 0, -1)]
        return [int(label) for label in (*before, *middle) if np.isfinite(label)]

    # -- heat while it grows --------------------------------------------------------------------------

    @cached_property
    def growing(self) -> NDArray[np.bool_]:
        """The days (n_days,) on which it likely grows."""
        grows = np.zeros(self.stages.axis.n_days, dtype=bool)
        if self.stages.profile.habit == EVERGREEN_GROWTH:
            return ~grows
        stops = self.likely("stop")
        for begin in self.likely("growth"):
            end = min((stop for stop in stops if stop > begin), default=begin)
            grows[max(begin, 0) : max(end, 0)] = True
        return grows

    @cached_property
    def heat(self) -> Floats:
        """Heat sums (n_traces, n_days) [degC d] of the days on which it grows, from the start of the axis."""
        daily = degree_days(self.stages.air.mean_c(), self.base_c)
        return np.asarray(np.cumsum(np.where(self.growing, daily, 0.0), axis=1))

    @cached_property
    def usual_heat(self) -> Floats:
        """Heat (n_days,) [degC d] of each day in the mean year, while it grows."""
        return np.where(self.growing, degree_days(self.stages.air.climate_c, self.base_c), 0.0)

    @property
    def heat_a_year(self) -> float:
        """Heat [degC d] of a usual year's growth: of the last whole year of the axis."""
        return float(self.usual_heat[-YEAR:].sum())

    def heat_on(self, day: date) -> float:
        """Return the heat sum [degC d] at the end of a day; before the axis negative, by the mean year."""
        at = self.stages.axis.index(day)
        if at >= 0:
            return float(np.median(self.heat[:, min(at, self.heat.shape[1] - 1)]))
        whole, rest = divmod(-at - 1, YEAR)  # at the end of the day before the axis there is none
        return -(whole * self.heat_a_year + float(self.usual_heat[self.usual_heat.size - rest :].sum()))


def days_before(label: float) -> float:
    """Return whole years [d] that bring a label from before the axis onto it, 0 for one that is on it."""
    return YEAR_DAYS * max(math.ceil(-label / YEAR_DAYS), 0)


def upcoming(moments: list[Floats], since: float | Floats) -> Floats:
    """Return the first of some moments that comes at ``since`` or after it, inf where none does.

    Years before the first are taken to have had it on the same day, or what was due then would move on with today.
    """
    if not moments:
        return np.full(1, np.inf)
    shape = np.broadcast_shapes(*(labels.shape for labels in moments), np.shape(since))
    out = np.full(shape, np.inf)
    for labels in (moments[0] - YEAR_DAYS * _years_before(moments[0], since), *moments):
        out = np.where(labels >= since, np.minimum(out, labels), out)
    return out


def _years_before(first: Floats, since: float | Floats, *, round_up: bool = False) -> Floats:
    """Return how many whole years lie between ``since`` and the first of some moments, 0 where that never comes."""
    years = (np.where(np.isfinite(first), first, -np.inf) - since) / YEAR_DAYS
    return np.maximum(np.ceil(years) if round_up else np.floor(years), 0.0)
