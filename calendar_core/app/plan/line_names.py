"""Names of lines: each holds for the very items that were printed under it, and for no others."""

from __future__ import annotations

from hashlib import sha256
from itertools import accumulate, combinations
from typing import TYPE_CHECKING

from calendar_core.app.shell.errors import Refusal
from calendar_core.planning.groups import EventGroup, group_items, lines_of
from calendar_core.planning.items import PUBLISH_FROM
from calendar_core.planning.rota.urgency import urgent
from calendar_core.storage import published
from calendar_core.wording.sentences import tree_list, tree_names

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from collections.abc import Set as AbstractSet
    from datetime import date
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.events import TimedEvent
    from calendar_core.planning.items import Item

LENGTH = 6
TOLD = 3  # so many of the lines that stand are told where a name does not (estimate: a line of a terminal)


def short(uid: UUID) -> str:
    """Return the name under which something of one lasting id is printed."""
    return uid.hex[:LENGTH]


def name_of(items: Iterable[Item]) -> str:
    """Return the name of a line: a function of what it holds, so that it never passes to other trees.

    The calendar's uid lasts as trees join and leave an event; an answer must reach those that were read.
    """
    return _digest(f"{item.id} {item.tree_id}" for item in items)


def name_of_move(move: TimedEvent) -> str:
    """Return the name of a move that a warning asks for: of its trees as well, which may change under its uid."""
    return _digest((str(move.uid), *map(str, move.tree_ids)))


def _digest(parts: Iterable[str]) -> str:
    """Return a sum of hashes: the order of the parts does not matter."""
    total = sum(int(sha256(part.encode()).hexdigest(), 16) for part in parts)
    return f"{total % 16**LENGTH:0{LENGTH}x}"


def events_of(session: Session, items: Iterable[Item]) -> tuple[EventGroup, ...]:
    """Return items that share an event together, as they were published."""
    with session.store.read() as connection:
        known = published.load_members(connection, session.garden.id)
    return group_items(session.garden.id, items, known)


def groups_of(session: Session, items: Iterable[Item]) -> tuple[EventGroup, ...]:
    """Return items as the lines of today."""
    return lines_of(events_of(session, items), session.today)


def due_groups(session: Session) -> tuple[EventGroup, ...]:
    """Return the lines of today's plan: what is due or wished, and likely enough."""
    due = [i for i in session.plan.items if i.status != "possible" and i.chance >= PUBLISH_FROM]
    return groups_of(session, due)


def item_named(session: Session, text: str) -> tuple[Item, ...]:
    """Return the items of a printed line: all trees of an event, those of one sitting, or one tree's item by its id.

    Raises
    ------
    Refusal
        Where no line of today holds just what was printed under that name; it tells what stands now.
    """
    wanted = text.lower().strip().replace("-", "")
    groups = due_groups(session)
    found: list[Sequence[Item]] = [group.items for group in groups if name_of(group.items) == wanted]
    if not found:
        told = _told_together(session)
        portions = (some for group in groups for some in _sittings(session, group, wanted, told))
        found = list({frozenset(item.id for item in some): some for some in portions}.values())
    if len(wanted) >= LENGTH and not found:
        found = [(i,) for i in session.plan.items if i.status != "possible" and i.id.hex.startswith(wanted)]
    if len(found) == 1:
        return tuple(found[0])
    raise Refusal(_none_so_named(session, text, groups))


def _sittings(
    session: Session, group: EventGroup, name: str, told: Mapping[date, AbstractSet[UUID]]
) -> Iterator[Sequence[Item]]:
    """Yield the portions of a name in which a rota may print an event.

    They are the trees that were told for one day, with others that follow each other in the garden.
    """
    items = in_order(session, group.items)
    sets = [[item for item in items if item.id in ids] for ids in told.values()]
    for together in ([], *(some for some in sets if some)):
        others = [item for item in items if item not in together]
        begin = sum(int(name_of([item]), 16) for item in together)
        upto = [0, *accumulate(int(name_of([item]), 16) for item in others)]
        spans = [*combinations(range(len(others) + 1), 2), *([(0, 0)] if together else [])]
        for first, last in spans:
            if f"{(begin + upto[last] - upto[first]) % 16**LENGTH:0{LENGTH}x}" == name:
                yield in_order(session, [*together, *others[first:last]])


def _told_together(session: Session) -> dict[date, set[UUID]]:
    """Return by day the items whose work was told for it."""
    with session.store.read() as connection:
        told = published.load_work(connection, session.garden.id, session.today)
    days: dict[date, set[UUID]] = {}
    for work in told:
        days.setdefault(work.day, set()).add(work.item_id)
    return days


def in_order(session: Session, items: Iterable[Item]) -> list[Item]:
    """Return items in the order of the garden's trees."""
    place = {tree.id: i for i, tree in enumerate(session.trees)}
    return sorted(items, key=lambda item: place[item.tree_id])


def _none_so_named(session: Session, text: str, groups: Sequence[EventGroup]) -> str:
    said = f"no item '{text}' in today's plan; right would be a name as printed by: leafclock plan"
    wanted = text.strip().lower()
    if len(wanted) < LENGTH or not set(wanted) <= set("0123456789abcdef-"):
        return said
    lines = [line.group for line in urgent(groups, session.today, 0)]
    told = [
        f"{name_of(g.items)} {session.speaker.name(g.items[0])}: {tree_list(tree_names(g.items, session.labels), most=4)}"
        for g in lines[:TOLD]
    ]
    more = f"; {len(lines) - TOLD} more, see: leafclock due" if len(lines) > TOLD else ""
    now = f"now stand {'; '.join(told)}{more}" if told else "nothing is due today"
    return f"no line '{text}' stands today: it was answered, or its trees are in other lines; {now}"
