"""Turns of repotting: which trees are repotted in which year, when in it, and which may wait so that years come out even."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from calendar_core.garden.cycle import calendar_of
from calendar_core.planning.items import PUBLISH_FROM

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.garden.model import Tree
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.items import Item, NotPlanned, Plan
    from calendar_core.planning.seasons.species_stages import Grove

REPOT = "repot"
MANY = 10  # pots in a year: as many as a weekend or two take, so nobody need wait for the sake of fewer (estimate)


@dataclass(frozen=True, slots=True)
class Turn:
    """A tree's turn: ``year`` None where its last repotting is not written down; ``soil_litres`` of fresh soil.

    ``first`` to ``until`` is its window where the plan knows it, ``about`` the middle of a usual one. ``last_cycle`` is that of the
    last repotting, which may be told apart from the calendar's year. ``waits`` tells that it may well wait a year, for the sake of fewer pots at once.
    """

    tree_id: UUID
    species: str
    year: int | None
    first: date | None
    until: date | None
    about: date | None
    last: date | None
    every_years: int
    pot_litres: float
    pot_known: bool
    soil_litres: float
    last_cycle: int | None = None
    waits: bool = False


def repotting(grove: Grove, knowledge: Knowledge, plan: Plan) -> list[Turn]:
    """Return the turns of all trees that are repotted by interval, the earliest first, those of unknown year last.

    As far as ``plan`` reaches, the year is that in which it asks for it: a turn that was missed, or that it holds,
    falls to the next.
    """
    due = {
        item.tree_id: item
        for item in sorted(plan.items, key=lambda item: item.opens.likely, reverse=True)
        if item.operation == REPOT and item.status in ("due", "wished") and item.chance >= PUBLISH_FROM
    }
    reached: dict[UUID, int] = {}
    every: tuple[Item | NotPlanned, ...] = (*plan.items, *plan.not_planned)
    for item in every:
        if item.operation == REPOT:
            reached[item.tree_id] = max(reached.get(item.tree_id, 0), item.cycle)
    found = [
        turn
        for tree in grove.trees
        if (turn := _turn(tree, grove, knowledge, plan, due.get(tree.id), reached.get(tree.id, 0)))
        is not None
    ]
    turns = sorted(found, key=lambda turn: (turn.year is None, turn.year or 0, -turn.pot_litres))
    return _evened(turns, int(knowledge.growth.pots.waits_from_years.value))


def _turn(
    tree: Tree, grove: Grove, knowledge: Knowledge, plan: Plan, item: Item | None, reached: int
) -> Turn | None:
    profile, pots, state = knowledge.profiles[tree.species], knowledge.growth.pots, grove.states[tree.id]
    work = next((w for w in profile.work if w.operation == REPOT and w.every_years), None)
    if work is None or work.every_years is None:
        return None
    years, last = int(getattr(work.every_years, state.size)), state.last(REPOT)
    middles = plan.middles.get(tree.id, {}).get(REPOT, ())
    done = None if last is None else calendar_of(grove.garden, profile).belongs(last.on, middles)
    year = None if item is None else item.cycle
    if year is None and done is not None:
        year = max(done + years, reached + 1)
    litres = state.pot_litres if state.pot_litres is not None else pots.litres(state.size)
    return Turn(
        tree.id, tree.species, year, item.opens.likely if item else None, item.closes.likely if item else None,
        _middle(middles, year), last.on if last else None, years, litres, state.pot_litres is not None,
        round(litres * pots.soil_share.value, 1), done,
    )  # fmt: skip


def _middle(middles: Sequence[tuple[int, date]], year: int | None) -> date | None:
    """Return the middle of a usual window in a cycle, by that of another."""
    if year is None or not middles:
        return None
    cycle, day = middles[-1]
    return day.replace(year=day.year + year - cycle, day=min(day.day, 28))


def _evened(turns: Sequence[Turn], from_years: int) -> list[Turn]:
    """Return turns with those marked that may wait a year: of long intervals, and not late already."""
    pots = Counter(turn.year for turn in turns if turn.year is not None)
    if max(pots.values(), default=0) <= MANY:
        return list(turns)
    years = range(min(pots), max(pots) + 2)
    may: dict[int, list[Turn]] = {year: [] for year in years}
    for turn in sorted(turns, key=lambda turn: -turn.every_years):
        if turn.year is not None and turn.every_years >= from_years and not _late(turn):
            may[turn.year].append(turn)
    moved = moved_on([pots[year] for year in years], [len(may[year]) for year in years])
    wait = {turn.tree_id for year, n in zip(years, moved, strict=True) for turn in may[year][:n]}
    return [replace(turn, waits=turn.tree_id in wait) for turn in turns]


def _late(turn: Turn) -> bool:
    return turn.last_cycle is None or turn.year is None or turn.year - turn.last_cycle > turn.every_years


def moved_on(load: Sequence[int], may: Sequence[int]) -> list[int]:
    """Return how many of each year wait for the next, so that the squares of the years' loads sum to the least.

    ``may`` are how many can; nobody waits twice. Exact: as long as one more along a run of years, or one fewer, makes
    them more even, it is done (no negative cycle is left in the flow of least convex cost).

    >>> moved_on([5, 1, 0], [5, 1, 0])
    [2, 1, 0]
    """
    at, moved, years = list(load), [0] * len(load), range(len(load))
    while True:
        gains = [
            (at[a] - at[b], a, b, step)
            for a in years
            for b in years
            for step in (1 if a < b else -1,)
            if at[a] - at[b] >= 2 and all(0 <= moved[y] + step <= may[y] for y in range(min(a, b), max(a, b)))
        ]
        if not gains:
            return moved
        _, a, b, step = max(gains)
        at[a], at[b] = at[a] - 1, at[b] + 1
        for year in range(min(a, b), max(a, b)):
            moved[year] += step


def pots_by_year(turns: Sequence[Turn]) -> Mapping[int, int]:
    """Return how many pots a year has once those that may wait do."""
    return Counter(turn.year + turn.waits for turn in turns if turn.year is not None)
