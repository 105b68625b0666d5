"""The register of a garden: each tree with its state, what concerns it, and its next work."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.planning.aftercare.followed import concerns
from calendar_core.planning.waits import late_since

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.garden.state import TreeState
    from calendar_core.planning.aftercare.followed import Followed
    from calendar_core.planning.items import Item


@dataclass(frozen=True)
class RegisterLine:
    """A tree of the register; ``next_work`` is None where nothing is planned for it."""

    tree: Tree
    species: str
    state: TreeState
    spot: str
    concerns: tuple[Followed, ...]
    weak: bool
    next_work: Item | None

    @property
    def of_concern(self) -> bool:
        """Whether the tree is weak, or something of it went badly and is open."""
        return self.weak or bool(self.concerns)


def register(session: Session) -> tuple[RegisterLine, ...]:
    """Return the trees of the garden by spot, in the order of their labels there."""
    known, first = session.knowledge, _next_work(session)
    lines = []
    for tree in session.trees:
        state = session.states[tree.id]
        spot = session.spots[state.spot].name if state.spot in session.spots else ""
        open_concerns = tuple(concerns(state, known.aftercare, session.today))
        weak = state.vigour <= known.review.full.weak_vigour.value
        species = known.profiles[tree.species].common
        lines.append(RegisterLine(tree, species, state, spot, open_concerns, weak, first.get(tree.id)))
    return tuple(sorted(lines, key=lambda line: line.spot))


def _next_work(session: Session) -> dict[object, Item]:
    """Return the item of each tree that comes first: what is late, else what opens first."""
    first: dict[object, Item] = {}
    items = (item for item in session.plan.items if item.status != "possible")
    for item in sorted(items, key=lambda item: late_since([item]) or item.opens.likely):
        first.setdefault(item.tree_id, item)
    return first
