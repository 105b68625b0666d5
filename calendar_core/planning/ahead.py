"""Looking ahead: which trees are to be repotted in which spring, and work counted back from a show."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.garden.cycle import is_south
from calendar_core.planning.due import calendar_of
from calendar_core.planning.groups import PUBLISH_FROM

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from uuid import UUID

    from calendar_core.planning.items import Item, Plan
    from calendar_core.planning.species_stages import Grove
    from calendar_core.species.schema import Knowledge, ShowStep

REPOT = "repot"


@dataclass(frozen=True, slots=True)
class Turn:
    """A tree's turn: ``year`` None where its last repotting is not written down; ``soil_litres`` of fresh soil."""

    tree_id: UUID
    year: int | None
    last: date | None
    every_years: int
    pot_litres: float
    pot_known: bool
    soil_litres: float


def repotting(grove: Grove, knowledge: Knowledge, plan: Plan) -> list[Turn]:
    """Return the turns of all trees that are repotted by interval, the earliest first, those of unknown year last.

    What ``plan`` has due is of its year; of the others the last repotting is of the spring that the plan tells it to be
    of. A turn that was missed falls to the next.
    """
    out, south = [], is_south(grove.garden.latitude)
    due = _due(plan)
    for tree in grove.trees:
        works = (w for w in knowledge.profiles[tree.species].work if w.operation == REPOT and w.every_years)
        work = next(works, None)
        if work is None or work.every_years is None:
            continue
        state = grove.states[tree.id]
        years, last = int(getattr(work.every_years, state.size)), state.last(REPOT)
        litres = (
            state.pot_litres if state.pot_litres is not None else knowledge.growth.pots.litres(state.size)
        )
        calendar = calendar_of(grove.garden, knowledge.profiles[tree.species])
        year = due.get(tree.id)
        if year is None and last is not None:
            turn = calendar.belongs(last.on, plan.middles[tree.id].get(REPOT, ())) + years
            year = max(turn, _next_spring(plan.today, south=south))
        out.append(
            Turn(
                tree.id, year, last.on if last else None, years, litres, state.pot_litres is not None,
                round(litres * knowledge.growth.pots.soil_share.value, 1),
            )
        )  # fmt: skip
    return sorted(out, key=lambda turn: (turn.year is None, turn.year or 0, -turn.pot_litres))


def _due(plan: Plan) -> dict[UUID, int]:
    """Return by tree the first year in which the plan has it due to be repotted."""
    found: dict[UUID, int] = {}
    for item in plan.items:
        if item.operation == REPOT and item.status != "possible" and item.chance >= PUBLISH_FROM:
            found[item.tree_id] = min(item.cycle, found.get(item.tree_id, item.cycle))
    return found


def _next_spring(today: date, *, south: bool) -> int:
    """Return the year of the spring that is there or comes next: until April, until October in the south."""
    return (today + timedelta(days=61 if south else 245)).year


@dataclass(frozen=True, slots=True)
class Countdown:
    """One step before a show: on its day ``open`` tells whether the plan has the work's window open, None if it has none."""

    operation: str
    day: date
    how: str
    open: bool | None


def countdown(
    show: date, steps: Mapping[str, ShowStep], items: Sequence[Item], today: date
) -> list[Countdown]:
    """Return the steps before a show that lie ahead, in order, given the items of the tree."""
    out = []
    for operation, step in steps.items():
        day = show - timedelta(days=step.days)
        windows = [i for i in items if i.operation == operation and i.follows is None]
        is_open = any(i.opens.likely <= day <= i.closes.likely for i in windows) if windows else None
        if day >= today:
            out.append(Countdown(operation, day, step.how, is_open))
    return sorted(out, key=lambda one: one.day)
