"""Which warning may tell of another: what it asks for helps against that too, or its message goes to the same trees."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from alerts.shelter.times import LIT, NIGHTLY
from alerts.telling.events import event_id
from calendar_core.app.warnings.stored_warnings import events_in, is_helped, is_told, standing_in
from calendar_core.app.warnings.ways_back import goes_before

if TYPE_CHECKING:
    from collections.abc import Iterable

    from alerts.outbox.standing import StandingWarning
    from alerts.policy.standing import Standing
    from alerts.threats import Advice

ALIKE = (NIGHTLY, LIT)
"""Hazards of which one may be told in place of the other."""


def asks_the_same(other: StandingWarning, standing: Standing, advice: Iterable[Advice]) -> bool:
    """Tell whether another warning that holds asks for the same means for each tree, in time and for as long.

    Only one that is alike is asked: who pays no heed to hail must still hear of frost.
    """
    alike = any({other.hazard, standing.hazard} <= kind for kind in ALIKE)
    if not alike or other.state != "active" or other.id == standing.id or is_helped(other):
        return False
    told = standing_in(other).levels
    asked, met = events_in(other), set()
    for counsel in advice:
        same = {event_id(other.id, counsel, n) for n in range(len(asked))}
        for event in asked:
            if event.uid in same and event.start <= counsel.by and event.end >= counsel.until:
                met.update(set(counsel.trees).intersection(event.tree_ids))
    return all(
        tree in met and (told.get(tree) == "danger" or level == "caution")
        for tree, level in standing.levels.items()
    )


def can_carry(other: StandingWarning, standing: Standing) -> bool:
    """Tell whether the message of another warning may tell of one too: it holds, for the same day and all its trees."""
    told = standing_in(other)
    holds = other.state == "active" and other.id != standing.id and not is_helped(other)
    return holds and told.day == standing.day and set(told.levels).issuperset(standing.levels)


def asked_before(advice: Iterable[Advice], others: Iterable[StandingWarning]) -> tuple[Advice, ...]:
    """Return advice with the trees marked that another warning asks to move to the same spot, sooner and for as long.

    Each warning asks for all its moves, so that one that is withdrawn leaves none out.
    """
    out: list[Advice] = []
    holding = [other for other in others if other.state == "active" and is_told(other)]
    for counsel in advice:
        asked = {
            tree
            for other in holding
            for event in events_in(other)
            if event.to is not None and event.to == counsel.to and goes_before(event, counsel.by)
            for tree in event.tree_ids
        }
        for known in (False, True):
            trees = tuple(tree for tree in counsel.trees if (tree in asked) == known)
            if trees:
                out.append(replace(counsel, trees=trees, asked=known))
    return tuple(out)


def goes_on(standing: Standing, before: StandingWarning | None) -> bool:
    """Tell whether the warning of the day before asks for moves that last through a new one, of all its trees.

    A cold spell is then told once, and the digest of each evening says that it goes on.
    """
    if before is None or before.state != "active":
        return False
    told = standing_in(before).levels
    lasting = {tree for event in events_in(before) if event.end >= standing.onset for tree in event.tree_ids}
    return all(
        tree in lasting and (told.get(tree) == "danger" or level == "caution")
        for tree, level in standing.levels.items()
    )
