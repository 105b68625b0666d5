"""Advice on fertilizing for the trees of a garden, and how it is printed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING
from uuid import UUID

from calendar_core.app.shell.output import heading, say
from calendar_core.planning.feeding.dose import Dose, Product, dose
from calendar_core.planning.feeding.given import cases
from calendar_core.planning.feeding.strength import Feeding, outlook
from calendar_core.planning.planner import air_over
from calendar_core.wording.feeding_text import FeedingSpeaker
from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree

CAUTIONS = ("fertilizer_label", "hot_spell_feeding")


@dataclass(frozen=True)
class Step:
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
class Advice:
    """What one tree gets in the weeks to come; ``pot_takes_l`` is the solution its pot takes at a time."""

    tree_id: UUID
    label: str
    steps: list[Step]
    pot_takes_l: float | None


@dataclass(frozen=True)
class Can:
    """What is poured: a product, if one is named, in so much water."""

    product: Product | None
    litres: float


def advice(session: Session, trees: Sequence[Tree], can: Can, weeks: int) -> list[Advice]:
    """Return the advice for each tree from today on."""
    known, today, plan = session.knowledge, session.today, session.plan
    air = air_over(session.garden, session.weather.sky, known, today)
    of_trees = cases(plan, trees, session.grove, session.weather.sky, known, air)
    out = []
    for tree in trees:
        state = session.grove.states[tree.id]
        found = outlook(of_trees[tree.id], known.feeding, known.operations, today + timedelta(weeks=weeks))
        steps = [_step(one, days, can, known.feeding.low_nitrogen.most_share_percent) for one, days in found]
        share = known.feeding.pot.solution_percent / 100
        takes = None if state.pot_litres is None else state.pot_litres * share
        out.append(Advice(tree.id, tree.label, steps, takes))
    return out


def _step(found: Feeding, days: list[date], can: Can, most_share_percent: float) -> Step:
    product = can.product
    if product is None or found.hold:
        return Step(found, days, True, None, None, None)
    if found.low_nitrogen and not product.is_low_in_nitrogen(most_share_percent):
        return Step(found, days, False, None, None, None)
    made = dose(found, product)
    in_can = None if made is None else made.grams(can.litres)
    if made is None or product.density is None:
        return Step(found, days, True, made, in_can, None)
    return Step(found, days, True, made, in_can, made.millilitres(can.litres, product.density))


def show(session: Session, found: Sequence[Advice], can: Can, *, with_cakes: bool, with_why: bool) -> None:
    """Print the advice, once for all trees that get the same, and the cautions."""
    say(f"{session.garden.name}. {session.style.weekday(session.today)}")
    groups: dict[tuple[str, ...], list[Advice]] = {}
    for one in found:
        groups.setdefault(_lines(session, one, can, with_cakes=with_cakes, with_why=with_why), []).append(one)
    for lines, alike in groups.items():
        heading(tree_list([one.label for one in alike]))
        for text in (*lines, *_pots(session, alike, can)):
            say(text, indent=2, hanging=2)
    heading("Take care")
    for key in CAUTIONS:
        say(session.style.text(session.knowledge.cautions[key].text), indent=2, hanging=2)


def _lines(session: Session, one: Advice, can: Can, *, with_cakes: bool, with_why: bool) -> tuple[str, ...]:
    """Return what is said of a tree: of each strength or wait, then of cakes."""
    speaker = FeedingSpeaker(session.speaker)
    lines: list[str] = []
    for step in one.steps:
        lines += _step_lines(session, speaker, step, can)
        lines += speaker.why(step.feeding) if with_why else []
    if with_cakes:
        first = one.steps[0].feeding
        lines.append(speaker.cakes(first.cakes, first.day))
    return tuple(lines)


def _step_lines(session: Session, speaker: FeedingSpeaker, step: Step, can: Can) -> list[str]:
    found = step.feeding
    if found.hold:
        return [speaker.waits(found)]
    lines = [speaker.strength(found, step.dates), speaker.less(found)]
    if not step.fits:
        lines.append(speaker.unfit(session.knowledge.feeding.low_nitrogen.most_share_percent))
    elif step.dose is not None and can.product is not None:
        lines.append(speaker.dose(step.dose, can.product, can.litres))
    return [line for line in lines if line]


def _pots(session: Session, alike: Sequence[Advice], can: Can) -> list[str]:
    """Return how much solution the pots take together, where their size is written down."""
    made, takes = alike[0].steps[0].dose, [one.pot_takes_l for one in alike if one.pot_takes_l is not None]
    if made is None or can.product is None or not takes:
        return []
    return [FeedingSpeaker(session.speaker).pots(made, can.product, len(takes), sum(takes))]
