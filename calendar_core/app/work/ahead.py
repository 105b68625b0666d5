"""Days away and days of a show: what a helper looks at, which trees are thirsty, and the work counted back from a day."""

from __future__ import annotations

from datetime import date, timedelta

from calendar_core.app.shell.session import Session
from calendar_core.garden.model import Tree
from calendar_core.planning.feeding.season import may_bloom
from calendar_core.planning.items import Item
from calendar_core.planning.places.operations import CHECK
from calendar_core.planning.works.countdown import Countdown, countdown
from calendar_core.wording.plan.away_text import MAY_DRY, NEVER_DRY


def show_steps(session: Session, tree: Tree, on: date) -> tuple[Countdown, ...]:
    """Return the steps of a tree; what takes wood or leaves only where its kind gets that, and no bloom is near."""
    known, stages = session.knowledge, session.plan.stages[tree.id]
    works = {work.operation for work in known.profiles[tree.species].work}
    steps = {
        operation: step
        for operation, step in known.show.items()
        if known.operations[operation].takes is None
        or (operation in works and not may_bloom(stages, on, timedelta(days=step.days)))
    }
    items = [item for item in session.plan.items if item.tree_id == tree.id]
    return tuple(countdown(on, steps, items, session.today))


def by_helper(session: Session, item: Item) -> bool:
    """Return whether whoever looks after the trees does it: looks, checks of what stands under cover, and moves into it."""
    if item.follows is not None:
        return session.knowledge.aftercare[item.follows.rule].by_helper
    return item.operation == CHECK or item.protects


def thirst(session: Session) -> dict[str, list[str]]:
    """Return the trees by how they want water, in words."""
    out: dict[str, list[str]] = {NEVER_DRY: [], MAY_DRY: []}
    for tree in session.trees:
        water = session.knowledge.profiles[tree.species].water
        out[MAY_DRY if water.may_dry else NEVER_DRY].append(tree.label)
    return out


def looks_until(session: Session, last: date) -> list[Item]:
    """Return what a sitter's sheet asks for up to a day; what is late stays open."""
    return [i for i in session.plan.items if i.opens.likely <= last and by_helper(session, i)]
