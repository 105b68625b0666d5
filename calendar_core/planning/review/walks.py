"""Walks: which trees are looked at on which day of a round, those that need it first, then along the benches."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING, Literal, get_args

import numpy as np

from calendar_core.planning.review.assignment import NOWHERE, assigned
from calendar_core.planning.rota.problem import ENDS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.knowledge.words import LookDepth
    from calendar_core.planning.items import Reason
    from calendar_core.planning.review.rounds import RoundWindow
    from calendar_core.planning.review.walk_days import WalkDay

Turn = Literal["concern", "tender", "bench", "quarantine"]
TURNS: tuple[Turn, ...] = get_args(Turn)
WORTH: Mapping[Turn, int] = {"concern": 4, "tender": 4, "bench": 1, "quarantine": 1}
"""What a look that is left out costs beside others, twice that if it is a full one (estimate)."""


PARTS = 10  # of a minute, in which the solver counts


@dataclass(frozen=True, slots=True)
class Stop:
    """A look at one tree in a walk: ``spot`` and ``label`` are what the bench order goes by, ``why`` asks for a full one."""

    tree_id: UUID
    window: RoundWindow
    depth: LookDepth
    minutes: float
    turn: Turn
    due_in: date | None  # by when a tender tree goes under cover
    spot: str
    label: str
    why: tuple[Reason, ...] = ()
    moved_to: date | None = None  # before which the grower does not want it

    def open_on(self, day: date) -> bool:
        """Tell whether it can be looked at on a day."""
        late = self.moved_to is None or self.moved_to > self.window.closes or self.moved_to <= day
        return late and self.window.opens <= day <= self.window.closes

    @property
    def place(self) -> tuple[object, ...]:
        """What walks are ordered by."""
        return (
            TURNS.index(self.turn),
            (0, 0)
            if self.due_in is None
            else self.due_in.isocalendar()[:2],  # of one week they follow the bench
            self.spot,
            self.natural,
            str(self.tree_id),
        )

    @property
    def natural(self) -> tuple[tuple[int, int, str], ...]:
        """What puts "Maple 2" before "Maple 10"."""
        words = self.label.casefold().split()
        return tuple((0, int(word), "") if word.isdecimal() else (1, 0, word) for word in words)


@dataclass(frozen=True, slots=True)
class Walk:
    """One outing of a round."""

    on: date
    stops: tuple[Stop, ...]
    day: WalkDay

    @property
    def pressing(self) -> bool:
        """Whether it is in the best time of any of its trees: others are told only to who asks for them."""
        return any(stop.window.best is None or self.on <= stop.window.best for stop in self.stops)

    @property
    def minutes(self) -> int:
        """How long it takes."""
        return ceil(sum(stop.minutes for stop in self.stops))


@dataclass(frozen=True, slots=True)
class Round:
    """The walks of what is to be looked at, and what finds no day; ``proven`` that no other choice looks at more."""

    walks: tuple[Walk, ...]
    left: tuple[Stop, ...]
    proven: bool


def walks_of(stops: Sequence[Stop], days: Sequence[WalkDay]) -> Round:
    """Return the walks on the days given, in order and without a gap.

    Trees follow one another in their order as long as that finds a day for each. Where it does not, the solver of the
    rota chooses which are left out, so that the least is lost.
    """
    ordered = sorted(stops, key=lambda stop: stop.place)
    by_day = _in_order(ordered, days)
    placed = sum(len(some) for some in by_day.values())
    if placed == len(ordered) or not days:
        return _round(ordered, by_day, days, proven=placed == len(ordered))
    longest = max(day.minutes for day in days)
    minutes = np.array([ceil(PARTS * min(stop.minutes, longest)) for stop in ordered], dtype=np.int64)
    room = np.array([PARTS * day.minutes for day in days], dtype=np.int64)
    open_on = np.array([[day.minutes > 0 and stop.open_on(day.day) for day in days] for stop in ordered])
    worth = np.array([_worth(stop, days[-1].day) for stop in ordered], dtype=np.int64)
    places, proven = assigned(worth, minutes, open_on, room)
    chosen: dict[date, list[Stop]] = {}
    for stop, place in zip(ordered, places, strict=True):
        if place != NOWHERE:
            chosen.setdefault(days[place].day, []).append(stop)
    if _kept(chosen, days) > _kept(by_day, days):
        return _round(ordered, chosen, days, proven=proven)
    return _round(ordered, by_day, days, proven=proven)  # nothing is lost by the order of the benches


def _kept(by_day: Mapping[date, Sequence[Stop]], days: Sequence[WalkDay]) -> int:
    return sum(_worth(stop, days[-1].day) for some in by_day.values() for stop in some)


def _round(
    ordered: Sequence[Stop], by_day: Mapping[date, Sequence[Stop]], days: Sequence[WalkDay], *, proven: bool
) -> Round:
    walks = tuple(Walk(day.day, tuple(by_day[day.day]), day) for day in days if by_day.get(day.day))
    walked = {stop.tree_id for walk in walks for stop in walk.stops}
    ends = [stop for stop in ordered if days and stop.window.closes <= days[-1].day]
    return Round(walks, tuple(stop for stop in ends if stop.tree_id not in walked), proven)


def _in_order(ordered: Sequence[Stop], days: Sequence[WalkDay]) -> dict[date, list[Stop]]:
    """Return trees by day, each walk the next of them that are open as long as there is time."""
    ahead, longest = list(ordered), max((day.minutes for day in days), default=0)
    out: dict[date, list[Stop]] = {}
    for day in days:
        some: list[Stop] = []
        room = float(day.minutes)
        for stop in [stop for stop in ahead if stop.open_on(day.day)]:
            if stop.minutes <= room:
                some.append(stop)
                room -= stop.minutes
            elif some:
                break
            elif day.minutes == longest > 0:  # no day is long enough for it: it has one of its own
                some.append(stop)
                break
        if some:
            out[day.day] = some
            gone = {stop.tree_id for stop in some}
            ahead = [stop for stop in ahead if stop.tree_id not in gone]
    return out


def _worth(stop: Stop, last: date) -> int:
    """Return what a look is worth: little where its round goes on after the days looked at."""
    return WORTH[stop.turn] * (2 if stop.depth == "full" else 1) * (ENDS if stop.window.closes <= last else 1)
