"""What opens beyond the days that have their work: heavy work and moves that the season binds, and looks on their day."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.knowledge.forms.operations import HEAVY

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence
    from uuid import UUID

    from calendar_core.knowledge.forms.operations import Operation
    from calendar_core.planning.items import Item

AHEAD = timedelta(weeks=6)  # from when an opening is told: as far as the plan looks
MOST_A_DAY = (
    2  # openings told on one day; what opens about then stands on the next (estimate: a phone shows few)
)
TOGETHER = timedelta(
    days=10
)  # openings of one operation so near are one (estimate: a weekend or two to keep free)


@dataclass(frozen=True, slots=True)
class Opening:
    """Items of one operation, of whatever species, that open within ten days; of looks those that are called the same."""

    key: str
    items: tuple[Item, ...]
    day: date  # about when the first opens

    @property
    def cycle(self) -> int:
        """The cycle of the first to open."""
        return min(self.items, key=_order).cycle


def openings(
    items: Iterable[Item], operations: Mapping[str, Operation], told: Collection[UUID], today: date
) -> tuple[Opening, ...]:
    """Return what opens within six weeks and has no day yet: ``told`` are the items that have one."""
    ahead: dict[str, list[Item]] = {}
    for item in items:
        if today < item.opens.likely <= today + AHEAD and item.id not in told and _is_bound(item, operations):
            ahead.setdefault(item.label or item.operation, []).append(item)
    sets = [(key, near) for key, some in sorted(ahead.items()) for near in _near(sorted(some, key=_order))]
    met, out = Counter[date](), []
    for key, near in sorted(sets, key=lambda pair: (_order(pair[1][0]), pair[0])):
        day = near[0].opens.likely
        while met[day] >= MOST_A_DAY:
            day += timedelta(days=1)
        met[day] += 1
        out.append(Opening(key, tuple(near), day))
    return tuple(out)


def _is_bound(item: Item, operations: Mapping[str, Operation]) -> bool:
    """Tell whether an item is told before it has its day: heavy work, a move, or a look that something began."""
    move = item.protects or item.to is not None
    return item.follows is not None or move or operations[item.operation].weight >= HEAVY


def _near(ordered: Sequence[Item]) -> Iterable[list[Item]]:
    """Yield items in sets that open within ten days of their first."""
    some: list[Item] = []
    for item in ordered:
        if some and item.opens.likely > some[0].opens.likely + TOGETHER:
            yield some
            some = []
        some.append(item)
    if some:
        yield some


def _order(item: Item) -> tuple[date, str]:
    return item.opens.likely, str(item.id)
