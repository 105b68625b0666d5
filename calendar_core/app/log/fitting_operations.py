"""Operations in the order in which they are likely written down of some trees: what is due, what can be, all others."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.planning.places.operations import INTO, MAKE, OUT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree

ELSEWHERE = {INTO, OUT, MAKE, "look"}
"""What is not written down as work: moves say where to, looks answer what they follow."""


@dataclass(frozen=True)
class FittingOperations:
    """Operations by their keys: ``due`` now, those whose window is open, and the ``others``, which fit less and less."""

    due: tuple[str, ...]
    open: tuple[str, ...]
    others: tuple[str, ...]


def fitting_operations(session: Session, trees: Sequence[Tree]) -> FittingOperations:
    """Return all operations that can be written down of some trees, those that fit them first."""
    today, ids = session.today, {tree.id for tree in trees}
    items = sorted(
        (item for item in session.plan.items if item.tree_id in ids and item.follows is None),
        key=lambda item: item.closes.early,
    )
    now = [item for item in items if item.opens.early <= today <= item.closes.late or item.protects]
    decided = [op for tree in trees for op in sorted(session.states[tree.id].decided)]
    due = _once([*(item.operation for item in now if item.status != "possible"), *decided])
    can = [op for op in _once([item.operation for item in now]) if op not in due]
    return FittingOperations(due, tuple(can), _others(session, trees, {*due, *can}))


def _others(session: Session, trees: Sequence[Tree], before: set[str]) -> tuple[str, ...]:
    """Return what is left: the work of the trees' kinds first, what is never done to one of them last."""
    profiles = [session.knowledge.profiles[tree.species] for tree in trees]
    known = {work.operation for profile in profiles for work in profile.work}
    never = {key for profile in profiles for key in profile.never}
    left = {
        key: form.label
        for key, form in session.knowledge.operations.items()
        if key not in before and key not in ELSEWHERE
    }
    return tuple(sorted(left, key=lambda key: (key in never, key not in known, left[key])))


def _once(operations: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(op for op in operations if op not in ELSEWHERE))
