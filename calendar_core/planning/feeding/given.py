"""The strength of fertilizer on the plan's items: what a tree gets on the day its window opens, or today."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

from calendar_core.knowledge.forms.operations import is_feeding
from calendar_core.planning.feeding.cakes import changes_cakes
from calendar_core.planning.feeding.holds import FeedingCase, holds_ahead
from calendar_core.planning.feeding.season import autumn_frosts
from calendar_core.planning.feeding.strength import Feeding, feeding
from calendar_core.planning.items import PUBLISH_FROM, Given, Item, NotPlanned, Range, Reason, place_in_plan
from calendar_core.planning.seasons.air import expected_maxima

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from uuid import UUID

    from calendar_core.garden.model import Tree
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.items import Plan
    from calendar_core.planning.seasons.air import Air
    from calendar_core.planning.seasons.species_stages import Grove, Sky

T = TypeVar("T", Item, NotPlanned)
HEAT_DAYS = 10  # for so many days ahead heat is looked for: a forecast tells little of single days after that


def cases(
    plan: Plan, trees: Iterable[Tree], grove: Grove, sky: Sky, knowledge: Knowledge, air: Air
) -> dict[UUID, FeedingCase]:
    """Return trees as fertilizing looks at them, by their ids."""
    frosts, maxima = autumn_frosts(air), expected_maxima(sky.traces, plan.today, HEAT_DAYS)
    items, absent = _by_tree(plan.items), _by_tree(plan.not_planned)
    return {
        tree.id: FeedingCase(
            knowledge.profiles[tree.species], grove.states[tree.id], plan.stages[tree.id],
            items.get(tree.id, []), absent.get(tree.id, []), plan.today, frosts, maxima,
        )
        for tree in trees
    }  # fmt: skip


def _by_tree(items: Iterable[T]) -> dict[UUID, list[T]]:
    out: dict[UUID, list[T]] = {}
    for item in items:
        out.setdefault(item.tree_id, []).append(item)
    return out


def with_strengths(plan: Plan, grove: Grove, sky: Sky, knowledge: Knowledge, air: Air) -> Plan:
    """Return a plan whose items of fertilizing tell how strong it is given; what is to wait does."""
    fed = {
        item.tree_id
        for item in plan.items
        if is_feeding(item.operation, knowledge.operations) or changes_cakes(item, knowledge)
    }
    by_tree = cases(plan, [tree for tree in grove.trees if tree.id in fed], grove, sky, knowledge, air)
    answers = [_with_strength(item, by_tree, knowledge) for item in plan.items]
    items = sorted((item for item in answers if isinstance(item, Item)), key=place_in_plan)
    held = [absence for absence in answers if isinstance(absence, NotPlanned)]
    return replace(plan, items=tuple(items), not_planned=(*plan.not_planned, *held))


def _with_strength(
    item: Item, by_tree: Mapping[UUID, FeedingCase], knowledge: Knowledge
) -> Item | NotPlanned:
    if changes_cakes(item, knowledge):
        return _changed(item, by_tree[item.tree_id], knowledge)
    if item.chance < PUBLISH_FROM or not is_feeding(item.operation, knowledge.operations):
        return item
    case = by_tree[item.tree_id]
    day = max(case.today, min(item.opens.likely, item.closes.likely))
    given = feeding(case, knowledge.feeding, knowledge.operations, day)
    why: list[Reason] = []
    while given.hold and given.not_before is not None and given.not_before > day:
        why, day = [*why, *given.hold], given.not_before
        if day > item.closes.likely:
            return NotPlanned(item.tree_id, item.operation, item.rule, item.cycle, tuple(why))
        given = feeding(case, knowledge.feeding, knowledge.operations, day)
    if not why:
        return replace(item, given=_strength(given))
    opens = Range(*(max(opening, day) for opening in (item.opens.early, item.opens.likely, item.opens.late)))
    return replace(item, given=_strength(given), opens=opens, reasons=(*item.reasons, *why))


def _changed(item: Item, case: FeedingCase, knowledge: Knowledge) -> Item | NotPlanned:
    """Return the look that changes cakes, unless they go with the old soil soon."""
    day = max(case.today, item.opens.likely)
    ahead = [hold.reason for hold in holds_ahead(case, knowledge.feeding, knowledge.operations, day)]
    return NotPlanned(item.tree_id, item.operation, item.rule, item.cycle, tuple(ahead)) if ahead else item


def _strength(found: Feeding) -> Given:
    return Given(found.percent, found.low_nitrogen, found.hold, found.not_before)
