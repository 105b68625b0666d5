"""How many days a plan moves when a number of a profile is off by its doubt."""

from __future__ import annotations

import copy
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from calendar_core.planning.places.usual import places_year
from calendar_core.planning.seasons.members import middles
from calendar_core.planning.works.species_year import season_of
from calendar_core.planning.works.windows import window

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from datetime import date

    from numpy.typing import NDArray

    from calendar_core.garden.model import Garden
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.forms.species.work import Work
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.knowledge.profiles.numbers import Number
    from calendar_core.planning.places.chances import Chances
    from calendar_core.planning.seasons.air import Air
    from calendar_core.planning.seasons.species_stages import Season, Sky

    Floats = NDArray[np.float64]
    Ends = Mapping[str, Floats]  # by work, the likely opening and closing

MOVED_DAYS = 1.0  # an end that moves by less is taken not to


@dataclass(frozen=True)
class Influence:
    """What a number's doubt does: ``days`` by which the ends of windows move in all, and how many windows move."""

    number: Number
    days: float
    windows: int


class Sensitivity:
    """Moves the numbers of one species, at a garden and on a day, and sees what its windows do.

    ``profile_of`` makes a profile of a whole plain table, with the grower's answers, as a plan has it. ``known`` and
    ``chances`` are given where moves and shade are to be looked at too.
    """

    def __init__(
        self,
        garden: Garden,
        sky: Sky,
        air: Air,
        today: date,
        table: Mapping[str, Any],
        profile_of: Callable[[Mapping[str, Any]], Profile],
        known: Knowledge | None = None,
        chances: Chances | None = None,
    ) -> None:
        self.garden, self.sky, self.air, self.today = garden, sky, air, today
        self.table, self.profile_of, self.known, self.chances = table, profile_of, known, chances
        self.base = profile_of(table)
        self.season = self._season(self.base)
        self.ends = {work.key: self._ends(work, self.season) for work in self.base.work if _planned(work)}
        self.ends |= self._places(self.base, self.season)

    def influences(self, numbers: Sequence[Number]) -> Iterator[Influence]:
        """Yield the influence of each number on the windows of all work but wishes."""
        for number in numbers:
            moved = self._moved(number) if number.doubt else []
            yield Influence(number, float(sum(moved)), sum(days >= MOVED_DAYS for days in moved))

    def _moved(self, number: Number) -> list[float]:
        """Return by how many days each window moves, both ends together, the mean of up and down."""
        totals: dict[str, float] = {}
        profiles = [self._profile(number, sign * number.doubt) for sign in (-1, 1)]
        known = [profile for profile in profiles if profile is not None]
        for profile in known:
            for key, ends in self._changed(profile):
                before = self.ends[key]
                both = np.isfinite(ends) & np.isfinite(before)
                days = float(np.abs(ends[both] - before[both]).sum())
                totals[key] = totals.get(key, 0.0) + days / len(known)
        return list(totals.values())

    def _profile(self, number: Number, by: float) -> Profile | None:
        """Return the profile with one number changed, None where that makes no sense."""
        try:
            return self.profile_of(_changed(self.table, number.path, number.value + by))
        except ValueError:
            return None

    def _changed(self, profile: Profile) -> Iterator[tuple[str, Floats]]:
        """Yield the ends of the windows that a changed profile may move."""
        season = self.season if profile.stages == self.base.stages else self._season(profile)
        for work, before in zip(profile.work, self.base.work, strict=True):
            if _planned(work) and (season is not self.season or work != before):
                yield work.key, self._ends(work, season)
        if season is not self.season or _places(profile) != _places(self.base):
            yield from self._places(profile, season).items()

    def _places(self, profile: Profile, season: Season) -> dict[str, Floats]:
        """Return when a tree is moved and shaded in a usual year, by operation."""
        if self.known is None or self.chances is None:
            return {}
        wakes = (profile.shelter[0].wakes if profile.shelter else None) or ""
        comes = middles(season.at.stages[wakes])[0] if wakes in season.at.stages else np.inf
        day = self.air.axis.day(comes) if np.isfinite(comes) else None
        index = self.air.axis.index
        return {
            move.operation: np.array([np.inf if of is None else index(of) for of in (move.opens, move.by)])
            for move in places_year(profile, self.known, self.chances, day, season.at.cycle)
        }

    def _season(self, profile: Profile) -> Season:
        return season_of(self.garden, self.sky, self.air, profile, self.today)

    def _ends(self, work: Work, season: Season) -> Floats:
        opens, closes = window(work, season.at).likely
        return np.array([opens[0], min(closes[0], season.at.end - 1)])


def _places(profile: Profile) -> tuple[object, ...]:
    """Return what of a profile moves and shades depend on."""
    return profile.shelter, profile.shade, profile.tolerance


def _planned(work: Work) -> bool:
    """Tell whether work comes into a plan without being asked for."""
    return work.due != "wish"


def _changed(table: Mapping[str, Any], path: Sequence[int | str], value: float) -> dict[str, Any]:
    """Return a table with another number at a place."""
    out: Any = copy.deepcopy(dict(table))
    part = out
    for key in path[:-1]:
        part = part[key]
    part[path[-1]] = round(value) if isinstance(part[path[-1]], int) and path[-1] == "window_days" else value
    return dict(out)
