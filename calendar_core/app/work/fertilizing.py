"""Advice on fertilizing for the trees of a garden."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING
from uuid import UUID

from calendar_core.planning.feeding.dose import Dose, Product, dose
from calendar_core.planning.feeding.given import cases
from calendar_core.planning.feeding.strength import Feeding, outlook
from calendar_core.planning.planner import air_over

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree


@dataclass(frozen=True)
class FeedingStep:
    """One strength or wait with its dates; ``fits`` unless the product holds too much nitrogen for the time.

    ``dose`` is for a litre; ``g_per_can`` and, of a liquid, ``ml_per_can`` are for the can.
    """

    feeding: Feeding
    dates: list[date]
    fits: bool
    dose: Dose | None
    g_per_can: tuple[float, float] | None
    ml_per_can: tuple[float, float] | None


@dataclass(frozen=True)
class FeedingAdvice:
    """What one tree gets in the weeks to come; ``pot_takes_l`` is the solution its pot takes at a time."""

    tree_id: UUID
    label: str
    steps: list[FeedingStep]
    pot_takes_l: float | None


@dataclass(frozen=True)
class Can:
    """What is poured: a product, if one is named, in so much water."""

    product: Product | None
    litres: float


def advice(session: Session, trees: Sequence[Tree], can: Can, weeks: int) -> list[FeedingAdvice]:
    """Return the advice for each tree from today on."""
    known, today, plan = session.knowledge, session.today, session.plan
    air = air_over(session.garden, session.weather.sky, known, today)
    of_trees = cases(plan, trees, session.grove, session.weather.sky, known, air)
    out = []
    for tree in trees:
        state = session.grove.states[tree.id]
        found = outlook(of_trees[tree.id], known.feeding, known.operations, today + timedelta(weeks=weeks))
        steps = [
            _step(feeding, days, can, known.feeding.low_nitrogen.most_share_percent)
            for feeding, days in found
        ]
        share = known.feeding.pot.solution_percent / 100
        takes = None if state.pot_litres is None else state.pot_litres * share
        out.append(FeedingAdvice(tree.id, tree.label, steps, takes))
    return out


def _step(found: Feeding, days: list[date], can: Can, most_share_percent: float) -> FeedingStep:
    product = can.product
    if product is None or found.hold:
        return FeedingStep(found, days, True, None, None, None)
    if found.low_nitrogen and not product.is_low_in_nitrogen(most_share_percent):
        return FeedingStep(found, days, False, None, None, None)
    made = dose(found, product)
    in_can = None if made is None else made.grams(can.litres)
    if made is None or product.density is None:
        return FeedingStep(found, days, True, made, in_can, None)
    return FeedingStep(found, days, True, made, in_can, made.millilitres(can.litres, product.density))
