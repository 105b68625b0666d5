"""What the planner found for each tree, kept so that it need not be worked out again.

A tree's items hold for what they were ``made_for``: a day, a weather, a program. An entry that is written about the
tree forgets them in the same transaction, so what is kept is never older than the log.
"""

from __future__ import annotations

import json
from datetime import date
from functools import cache
from typing import TYPE_CHECKING, Any
from uuid import UUID

from sqlalchemy import delete, func, select
from sqlalchemy import insert as plain_insert

from calendar_core.planning.groups import key_of
from calendar_core.planning.items import Follows, Given, Item, Range, Reason, place_in_plan
from calendar_core.storage.places import shared_place
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from sqlalchemy import Connection

    from calendar_core.garden.model import Garden

_tree, _item = tables.kept_tree, tables.kept_item


def log_length(connection: Connection, garden_id: UUID) -> int:
    """Return how many entries a garden's log has; it only grows, so it tells whether anything was written."""
    log = tables.entry.c
    return connection.execute(select(func.count()).where(log.garden_id == garden_id)).scalar_one()


def weather_known(connection: Connection, garden: Garden) -> list[object]:
    """Return what tells whether a garden's weather has changed: revisions of its series, the age of its forecast."""
    series, ahead = tables.weather_series.c, tables.forecast
    mine = [
        series_id for series_id in (garden.weather_series, garden.service_series) if series_id is not None
    ]
    revisions = select(series.id, series.revision).where(series.id.in_(mine)).order_by(series.id)
    here = shared_place(garden.latitude, garden.longitude) | {"zone": garden.zone}
    fetched = select(func.max(ahead.c.fetched)).select_from(ahead).filter_by(**here)
    return [*map(tuple, connection.execute(revisions)), connection.execute(fetched).scalar()]


def kept_trees(connection: Connection, garden_id: UUID, made_for: str) -> set[UUID]:
    """Return the trees whose items are kept."""
    chosen = select(_tree.c.tree_id).where(_tree.c.garden_id == garden_id, _tree.c.made_for == made_for)
    return set(connection.execute(chosen).scalars())


def keep(
    connection: Connection, garden_id: UUID, made_for: str, trees: Sequence[UUID], items: Iterable[Item]
) -> None:
    """Keep the items of trees in place of those kept before."""
    forget(connection, garden_id, trees)
    made = [{"tree_id": tree, "garden_id": garden_id, "made_for": made_for} for tree in trees]
    if made:
        connection.execute(plain_insert(_tree), made)
    rows = [
        {
            "id": item.id,
            "garden_id": garden_id,
            "tree_id": item.tree_id,
            "bundle": _bundle(item),
            "opens": item.opens.likely,
            "data": packed(item),
        }
        for item in items
    ]
    if rows:
        connection.execute(plain_insert(_item), rows)


def kept_items(connection: Connection, garden_id: UUID, upto: date) -> list[Item]:
    """Return the kept items that open by a day, with all others that may share an event with one of them."""
    near = select(_item.c.bundle).where(_item.c.garden_id == garden_id, _item.c.opens <= upto).distinct()
    chosen = select(_item.c.id, _item.c.tree_id, _item.c.data).where(_item.c.garden_id == garden_id)
    rows = connection.execute(chosen.where(_item.c.bundle.in_(near)))
    found = [unpacked(*row) for row in rows]
    return sorted(found, key=place_in_plan)


def forget(connection: Connection, garden_id: UUID, trees: Collection[UUID] | None = None) -> None:
    """Keep nothing of some trees any more, or of all of a garden's."""
    gone = delete(_tree).where(_tree.c.garden_id == garden_id)
    connection.execute(gone if trees is None else gone.where(_tree.c.tree_id.in_(trees)))


def _bundle(item: Item) -> str:
    return f"{key_of(item)}|{item.cycle}"


_PLAIN = (
    "species", "operation", "rule", "cycle", "aim", "chance", "status", "how", "occurrence", "shared", "label", "part",
    "done", "protects", "once",
)  # fmt: skip


def packed(item: Item) -> str:
    """Return an item as JSON but for its own id and its tree's, so that trees alike have the same text."""
    follows, given = item.follows, item.given
    data = {name: getattr(item, name) for name in _PLAIN} | {
        "opens": _days(item.opens),
        "closes": _days(item.closes),
        "reasons": [_reason(reason) for reason in item.reasons],
        "cautions": item.cautions,
        "part_id": item.part_id and item.part_id.hex,
        "measure": item.measure,
        "to": item.to and item.to.hex,
        "also": [spot.hex for spot in item.also],
        "given": given
        and [
            given.percent,
            given.low_nitrogen,
            [_reason(reason) for reason in given.hold],
            given.not_before and given.not_before.toordinal(),
        ],
        "follows": follows and [follows.rule, follows.entry.hex, follows.part and follows.part.hex],
    }
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))


def unpacked(item: UUID, tree: UUID, text: str) -> Item:
    """Return the item that `packed` wrote."""
    return Item(id=item, tree_id=tree, **_fields(text))


@cache
def _fields(text: str) -> Mapping[str, Any]:
    """Return what trees alike share; each text is read once."""
    data: dict[str, Any] = json.loads(text)
    part, follows = data["part_id"], data["follows"]
    return data | {
        "opens": _range(data["opens"]),
        "closes": _range(data["closes"]),
        "reasons": tuple(_reason_of(values) for values in data["reasons"]),
        "cautions": tuple(data["cautions"]),
        "part_id": part and UUID(part),
        "measure": tuple(data["measure"]),
        "to": data["to"] and UUID(data["to"]),
        "also": tuple(UUID(spot) for spot in data["also"]),
        "given": data["given"] and _given(*data["given"]),
        "follows": follows and Follows(follows[0], UUID(follows[1]), follows[2] and UUID(follows[2])),
    }


def _given(percent: Sequence[float], low: bool, hold: Sequence[Sequence[Any]], until: int | None) -> Given:  # noqa: FBT001 - as it was written
    low_percent, high_percent = percent
    held = tuple(_reason_of(values) for values in hold)
    return Given((low_percent, high_percent), low, held, None if until is None else date.fromordinal(until))


def _days(days: Range) -> list[int]:
    return [days.early.toordinal(), days.likely.toordinal(), days.late.toordinal()]


def _range(days: Sequence[int]) -> Range:
    return Range(*map(date.fromordinal, days))


def _reason(reason: Reason) -> list[Any]:
    found, needed = (
        {"day": value.isoformat()} if isinstance(value, date) else value
        for value in (reason.found, reason.needed)
    )
    return [
        reason.code, reason.subject, found, needed, reason.unit, reason.days, reason.basis, reason.source, reason.note,
    ]  # fmt: skip


def _reason_of(values: Sequence[Any]) -> Reason:
    code, subject, found, needed, *rest = values
    found, needed = (
        date.fromisoformat(value["day"]) if isinstance(value, dict) else value for value in (found, needed)
    )
    return Reason(code, subject, found, needed, *rest)
