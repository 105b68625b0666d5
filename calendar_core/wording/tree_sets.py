"""Sets of trees of which one sentence is true: what names several trees tells of each of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, TypeVar

from calendar_core.planning.waits import late_since
from calendar_core.wording.messages import UNTOLD
from calendar_core.wording.sentences import tree_list, tree_names

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from uuid import UUID

    from calendar_core.planning.items import Item, Reason
    from calendar_core.wording.sentences import Speaker

T = TypeVar("T")
K = TypeVar("K")
ALIKE_DAYS = 3  # what "about" bears: no shift that damping would tell of a date near by (estimate)
MOST_NAMES = 40


@dataclass(frozen=True)
class Said:
    """A reason with the items of an event of which it is true."""

    reason: Reason
    items: tuple[Item, ...]


def alike(items: Iterable[Item]) -> list[list[Item]]:
    """Return items in sets whose windows differ by no more than days, soonest first: that one speaks for its set."""
    ordered = sorted(items, key=lambda i: (i.opens.likely, i.closes.early, i.tree_id))
    dated = _by(ordered, _dates)
    sets = _joined(dated, lambda days, some: all(map(_near, days, *some)))
    return [[item for days in some for item in dated[days]] for some in sets]


def reasons(items: Sequence[Item], speaker: Speaker) -> list[Said]:
    """Return the reasons of an event, each with the items it holds for; one sentence where it holds for all.

    The aims are told together, and the least vigour for all.
    """
    ordered = [item for some in alike(items) for item in some]
    by_reason: dict[Reason, dict[UUID, Item]] = {}
    for item in ordered:
        for reason in item.reasons:
            if reason.code in UNTOLD:
                continue
            by_reason.setdefault(reason, {})[item.id] = item
    texts = {reason: speaker.reason(reason) for reason in by_reason}
    found = []
    for some in _joined(
        by_reason,
        lambda candidate, those: all(
            texts[candidate] == texts[other] or _says_the_same(candidate, other) for other in those
        ),
    ):
        reason = some[0]  # of the soonest, as the event and each tree's own lines have it
        if reason.code == "programme":
            reason = replace(reason, subject=speaker.either(sorted({variant.subject for variant in some})))
        if reason.code == "vigour_enough":
            reason = replace(reason, found=min(int(str(variant.found)) for variant in some))
        found.append(
            Said(
                reason,
                tuple({i: item for variant in some for i, item in by_reason[variant].items()}.values()),
            )
        )
    order = _in_order(ordered)
    return sorted(found, key=lambda said: order[said.reason.code])


def of_trees(text: str, some: Sequence[Item], every: Sequence[Item], labels: Mapping[UUID, str]) -> str:
    """Return a sentence with the trees it is true of before it, unless that are all that are named."""
    if len(some) == len(every):
        return text
    return f"{tree_list(tree_names(some, labels), most=MOST_NAMES)}: {text}"


def by_text(items: Iterable[Item], say: Callable[[Item], str]) -> dict[str, list[Item]]:
    """Return what is said of items, each text with those it is said of."""
    return _by(items, say)


def _by(items: Iterable[Item], key: Callable[[Item], K]) -> dict[K, list[Item]]:
    found: dict[K, list[Item]] = {}
    for item in items:
        found.setdefault(key(item), []).append(item)
    return found


def _joined(ordered: Iterable[T], fits: Callable[[T, list[T]], bool]) -> list[list[T]]:
    """Return things in sets, each in the first that it fits into."""
    sets: list[list[T]] = []
    for thing in ordered:
        home = next((some for some in sets if fits(thing, some)), None)
        if home is None:
            sets.append([thing])
        else:
            home.append(thing)
    return sets


def _dates(item: Item) -> tuple[date, ...]:
    """Return the dates that are told of an item."""
    if (since := late_since([item])) is not None:
        return (since,) * 6
    return tuple(day for side in (item.opens, item.closes) for day in (side.early, side.likely, side.late))


def _near(*days: date) -> bool:
    return (max(days) - min(days)).days <= ALIKE_DAYS


def _says_the_same(reason: Reason, other: Reason) -> bool:
    """Tell whether two reasons make one sentence: dates may differ by days, aims and vigour are told for all."""
    told = {"programme": "subject", "vigour_enough": "found"}.get(reason.code)
    blank = {"found": None, "needed": None, "basis": "", "source": ""} | (
        {"subject": ""} if told == "subject" else {}
    )
    if replace(reason, **blank) != replace(other, **blank):  # type: ignore[arg-type]
        return False
    pairs = [(reason.needed, other.needed), *([] if told == "found" else [(reason.found, other.found)])]
    return all(a == b or (isinstance(a, date) and isinstance(b, date) and _near(a, b)) for a, b in pairs)


def _in_order(items: Sequence[Item]) -> dict[str, int]:
    """Return the place of each code: as the first item has them, what only others have after those."""
    codes = dict.fromkeys(reason.code for item in items for reason in item.reasons)
    return {code: place for place, code in enumerate(codes)}
