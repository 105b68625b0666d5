"""The stages of all trees of one species, in every cycle a plan needs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.cycle import calendar_of, cycles_at
from calendar_core.planning.items import StageDate
from calendar_core.planning.seasons.cycle import Cycle
from calendar_core.planning.seasons.learned import Taught, sight_cycle, taught
from calendar_core.planning.seasons.members import of_group, quantiles
from calendar_core.planning.seasons.stage_groups import Group
from calendar_core.planning.seasons.stage_run import StageRun

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from uuid import UUID

    from numpy.typing import NDArray

    from calendar_core.garden.model import Garden, Spot, Tree
    from calendar_core.garden.state import TreeState
    from calendar_core.garden.thermal import History
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.planning.seasons.air import Air
    from calendar_core.planning.seasons.axis import Axis
    from calendar_core.planning.seasons.learned import Seen
    from calendar_core.weather.traces import Traces

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Grove:
    """What is planned for: a garden with its spots, trees and their states, as of the day of the plan."""

    garden: Garden
    spots: Mapping[UUID, Spot]
    trees: Sequence[Tree]
    states: Mapping[UUID, TreeState]


@dataclass(frozen=True)
class Sky:
    """The weather a plan rests on.

    ``climate_c`` gives the mean year's daily mean for an axis (n_days,), ``past`` the air of a past
    cycle, measured or by the mean year.
    """

    traces: Traces
    climate_c: Callable[[Axis], Floats]
    past: Callable[[int], Air | None]


@dataclass(frozen=True)
class Season:
    """One cycle: what anchors read of it, and by group whether no winter comes before its spring."""

    at: Cycle
    no_winter: Floats


class SpeciesStages:
    """The stages of the trees of one species: by tree as dates, by cycle as what windows are made from.

    ``where`` gives each tree's group, a place on the second axis of all labels.
    """

    def __init__(
        self, grove: Grove, sky: Sky, profile: Profile, today: date, air: Air, trees: Sequence[Tree]
    ) -> None:
        self.grove, self.sky, self.profile, self.today, self.air = grove, sky, profile, today, air
        self.axis = air.axis
        self.calendar = calendar_of(grove.garden, profile)
        self.cycles = cycles_at(today, self.calendar.start, south=self.calendar.south)
        self.lessons: dict[tuple[object, ...], Taught] = {}
        groups = [self._groups(tree) for tree in trees]
        place = {kind: i for i, kind in enumerate(dict.fromkeys(groups))}
        self.where = [(tree, place[kind]) for tree, kind in zip(trees, groups, strict=True)]
        self.dates: dict[UUID, tuple[StageDate, ...]] = {}
        self.seasons = self._seasons(list(place))

    def _history(self, state: TreeState, axis: Axis) -> History:
        spots = self.grove.spots
        moves = [(axis.index(day), spots[spot].profile) for day, spot in state.moves if spot in spots]
        before = max([i for i, (day, _) in enumerate(moves) if day <= 0], default=0)
        moves = [(max(day, 0), profile) for day, profile in moves[before:]]
        if moves:  # where a tree stood before its first entry is taken to be where it came to stand
            moves[0] = (0, moves[0][1])
        return () if all(profile == "open" for _, profile in moves) else tuple(moves)

    def _groups(self, tree: Tree) -> tuple[Group, ...]:
        state = self.grove.states[tree.id]
        history = self._history(state, self.axis)
        as_written = sorted(state.seen, key=lambda sight: sight.written)
        seen = _corrected(self._sights([(sight.stage, sight.on) for sight in as_written]))
        not_yet = self._sights(state.not_yet)
        out = []
        for cycle in (self.cycles[0] - 1, *self.cycles):
            past = tuple((stage, c, day.toordinal()) for stage, c, day in seen if c < cycle)
            known = self._taught(past, state)
            out.append(
                Group(
                    history,
                    known.needs,
                    known.autumn,
                    tuple((stage, self.axis.index(day)) for stage, c, day in seen if c == cycle),
                    tuple((stage, self.axis.index(day)) for stage, c, day in not_yet if c == cycle),
                )
            )
        return tuple(out)

    def _taught(self, past: tuple[Seen, ...], state: TreeState) -> Taught:
        """Return what past springs taught of a tree; most cycles and trees without any share an answer."""
        key = (past, tuple(state.moves) if past else ())
        if key not in self.lessons:
            where = lambda air: self._history(state, air.axis)  # noqa: E731
            self.lessons[key] = taught(self.profile, past, self.sky.past, where)
        return self.lessons[key]

    def _sights(self, sights: Sequence[tuple[str, date]]) -> list[tuple[str, int, date]]:
        """Return stages seen with the cycle they belong to: that of the nearest season, whatever the day says."""
        profile, south = self.profile, self.calendar.south
        known = [(stage, day) for stage, day in sights if stage in profile.stages]
        return [(stage, sight_cycle(profile.stages[stage], day, south=south), day) for stage, day in known]

    def _seasons(self, kinds: Sequence[tuple[Group, ...]]) -> list[Season]:
        out, dormant = [], self._dormant_before(kinds)
        for at, cycle in enumerate(self.cycles, start=1):
            season = StageRun(self.air, self.profile, cycle, [groups[at] for groups in kinds]).run()
            labels = {"dormant": dormant, **season.labels}
            self._stage_dates(labels, [groups[at] for groups in kinds], cycle)
            out.append(Season(Cycle(self.air, self.profile, cycle, labels), season.no_winter))
            if self.profile.habit == "deciduous":
                dormant = labels["leaf_fall"]
            else:
                dormant = np.full((1, 1, 1), self._coldest(cycle + 1))
        return out

    def _coldest(self, cycle: int) -> float:
        start = self.calendar.start
        year = cycle if self.axis.south or start.month < 7 else cycle - 1
        return float(self.axis.index(date(year, start.month, start.day)))

    def _dormant_before(self, kinds: Sequence[tuple[Group, ...]]) -> Floats:
        """Return the leaf fall with which the first cycle begins."""
        first = self.cycles[0]
        if self.profile.habit != "deciduous":
            return np.full((1, 1, 1), self._coldest(first))
        names, name = [], "leaf_fall"
        while name:
            names.append(name)
            rule = self.profile.stages[name].after
            name = rule.stage if rule else ""
        return (
            StageRun(self.air, self.profile, first - 1, [groups[0] for groups in kinds])
            .run(names)
            .labels["leaf_fall"]
        )

    def _stage_dates(
        self,
        labels: Mapping[str, Floats],
        groups: Sequence[Group],
        cycle: int,
    ) -> None:
        n = len(groups)
        rows: list[list[StageDate]] = [[] for _ in range(n)]
        for name, stage in self.profile.stages.items():
            by_group = labels[name].swapaxes(0, 1)
            has = np.isfinite(by_group)
            ranges, share = self.axis.ranges(quantiles(by_group, has)), has.mean(axis=(1, 2)).tolist()
            for g in range(n):
                seen = name in dict(groups[g].seen)
                rows[g].append(
                    StageDate(
                        name,
                        stage.bbch,
                        cycle,
                        of_group(ranges, g),
                        of_group(share, g),
                        seen,
                        stage.basis,
                        stage.source or "",
                        stage.note or "",
                    )
                )
        for tree, g in self.where:
            self.dates[tree.id] = (*self.dates.get(tree.id, ()), *rows[g])


def _corrected(sights: Sequence[tuple[str, int, date]]) -> list[tuple[str, int, date]]:
    """Return sights (stage, cycle, day) by day, of each stage and cycle the last: a day written again corrects the first."""
    last = {(stage, cycle): day for stage, cycle, day in sights}
    return sorted(((stage, cycle, day) for (stage, cycle), day in last.items()), key=lambda sight: sight[2])
