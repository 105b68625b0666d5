"""The log: entries are added and read, never changed.

An entry that cannot be read is refused as it is added. One that is stored all the same, by an older program or by
hand, is set aside as the log is read, whoever reads it, and told to the logger ``leafclock.log``: all else goes on.
"""

from __future__ import annotations

import logging
from collections import defaultdict
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from sqlalchemy import exists, or_, select, union
from sqlalchemy import insert as plain_insert

from calendar_core.garden.entry_form import faults_of
from calendar_core.garden.model import Entry
from calendar_core.storage import kept
from calendar_core.storage.errors import StoreError
from calendar_core.storage.rows import insert, record
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence
    from datetime import date
    from uuid import UUID

    from sqlalchemy import Connection

    from calendar_core.garden.model import EntryKind

_LOGGER = logging.getLogger("leafclock.log")
_COLUMNS = [tables.entry.c[each.name] for each in fields(Entry) if each.name not in {"tree_ids", "garden_id"}]


def append(connection: Connection, entries: Sequence[Entry]) -> int:
    """Add entries; one whose id is stored already is left as it is.

    Returns
    -------
    int
        How many were new.

    Raises
    ------
    StoreError
        When an entry names a tree that its garden does not have, or holds what cannot be read.
    """
    if not entries:
        return 0
    _refuse_unreadable(entries)
    _refuse_strangers(connection, entries)
    first = {entry.id: entry for entry in reversed(entries)}
    statement = insert(connection, tables.entry).on_conflict_do_nothing().returning(tables.entry.c.id)
    new = connection.execute(statement, [_row(entry) for entry in first.values()]).scalars().all()
    links = [
        {"entry_id": entry, "position": position, "garden_id": first[entry].garden_id, "tree_id": tree}
        for entry in new
        for position, tree in enumerate(first[entry].tree_ids)
    ]
    if links:
        connection.execute(plain_insert(tables.entry_tree), links)
    _forget_kept(connection, [first[entry] for entry in new])
    return len(new)


def is_stored(connection: Connection, garden_id: UUID, entry_id: UUID) -> bool:
    """Tell whether a garden has an entry of an id."""
    log = tables.entry.c
    known = select(log.id).where(log.garden_id == garden_id, log.id == entry_id)
    return connection.execute(known).first() is not None


def entries(
    connection: Connection,
    garden_id: UUID,
    upto: date | None = None,
    trees: Collection[UUID] | None = None,
) -> tuple[Entry, ...]:
    """Return the entries that happened up to a day, in order of (happened, recorded_at, id).

    With ``trees`` these are the entries that name one of them, those of no tree, and all voids. Voided entries are
    among them; what a void means is for the fold to say. Those that cannot be read are set aside.
    """
    return _readable(_stored(connection, garden_id, upto, trees))


def unreadable(connection: Connection, garden_id: UUID, upto: date) -> tuple[Entry, ...]:
    """Return the entries that `entries` sets aside, but for those that were taken back."""
    found = _stored(connection, garden_id, upto, None)
    voided = {entry.voids for entry in found}
    return tuple(entry for entry in found if entry.id not in voided and faults_of(entry))


def _stored(
    connection: Connection, garden_id: UUID, upto: date | None, trees: Collection[UUID] | None
) -> tuple[Entry, ...]:
    log, link = tables.entry.c, tables.entry_tree.c
    named: defaultdict[UUID, list[UUID]] = defaultdict(list)
    linked = select(link.entry_id, link.tree_id).where(link.garden_id == garden_id)
    chosen = select(*_COLUMNS).where(log.garden_id == garden_id)
    if trees is not None:
        theirs = select(link.entry_id).where(link.tree_id.in_(trees))
        of_none = ~exists().where(link.entry_id == log.id)
        others = select(log.id).where(log.garden_id == garden_id, or_(log.voids.is_not(None), of_none))
        wanted = union(theirs, others)
        linked, chosen = linked.where(link.entry_id.in_(wanted)), chosen.where(log.id.in_(wanted))
    for entry_id, tree_id in connection.execute(linked.order_by(link.entry_id, link.position)):
        named[entry_id].append(tree_id)
    if upto is not None:
        chosen = chosen.where(log.happened <= upto)
    rows = connection.execute(chosen.order_by(log.happened, log.recorded_at, log.id)).mappings()
    return tuple(Entry(garden_id=garden_id, tree_ids=tuple(named[row["id"]]), **row) for row in rows)


def entries_of_kind(
    connection: Connection, garden_id: UUID, kind: EntryKind, upto: date
) -> tuple[Entry, ...]:
    """Return the entries of one kind up to a day, with what voids them, as `entries` does: the rest is not read."""
    log, link = tables.entry.c, tables.entry_tree.c
    ids = select(log.id).where(log.garden_id == garden_id, log.kind == kind, log.happened <= upto)
    found = set(connection.execute(ids).scalars())
    if not found:
        return ()
    here = (log.garden_id == garden_id, log.happened <= upto)
    chosen = select(*_COLUMNS).where(*here, or_(log.id.in_(found), log.voids.in_(found)))
    ordered = chosen.order_by(log.happened, log.recorded_at, log.id)
    rows = connection.execute(ordered).mappings().all()
    named: defaultdict[UUID, list[UUID]] = defaultdict(list)
    linked = select(link.entry_id, link.tree_id).where(link.entry_id.in_([row["id"] for row in rows]))
    for entry_id, tree_id in connection.execute(linked.order_by(link.entry_id, link.position)):
        named[entry_id].append(tree_id)
    of_kind = (Entry(garden_id=garden_id, tree_ids=tuple(named[row["id"]]), **row) for row in rows)
    return _readable(tuple(of_kind))


def set_aside(entry: Entry, faults: Iterable[str]) -> None:
    """Tell of an entry that cannot be read, in one line with the command that takes it back."""
    _LOGGER.warning(
        "the entry %s of %s (%s) cannot be read and is left out: %s; to take it back: leafclock log --void %s",
        entry.id.hex[:8], entry.happened, entry.kind, ", ".join(faults), entry.id.hex[:8],
    )  # fmt: skip


def _readable(found: tuple[Entry, ...]) -> tuple[Entry, ...]:
    odd = {entry.id: faults for entry in found if (faults := faults_of(entry))}
    if not odd:
        return found
    voided = {entry.voids for entry in found}
    for entry in found:
        if entry.id in odd and entry.id not in voided:
            set_aside(entry, odd[entry.id])
    return tuple(entry for entry in found if entry.id not in odd)


def _refuse_unreadable(entries: Sequence[Entry]) -> None:
    for entry in entries:
        for fault in faults_of(entry):
            raise StoreError(f"log entry {entry.id} ({entry.kind}): {fault}")


def _row(entry: Entry) -> dict[str, Any]:
    row = record(entry, data=dict(entry.data))
    del row["tree_ids"]
    return row


def _forget_kept(connection: Connection, entries: Sequence[Entry]) -> None:
    """Forget what the planner found for the trees of new entries, and of those they void."""
    link = tables.entry_tree.c
    for garden_id in {entry.garden_id for entry in entries}:
        own = [entry for entry in entries if entry.garden_id == garden_id]
        voided = [entry.voids for entry in own if entry.voids is not None]
        trees = {tree for entry in own for tree in entry.tree_ids}
        trees |= set(connection.execute(select(link.tree_id).where(link.entry_id.in_(voided))).scalars())
        of_garden = any(
            not entry.tree_ids for entry in own
        )  # an answer on which growers differ, for instance
        kept.forget(connection, garden_id, None if of_garden else trees)


def _refuse_strangers(connection: Connection, entries: Sequence[Entry]) -> None:
    known: dict[UUID, set[UUID]] = {}
    tree = tables.tree.c
    for entry in entries:
        if entry.garden_id not in known:
            own = select(tree.id).where(tree.garden_id == entry.garden_id)
            known[entry.garden_id] = set(connection.execute(own).scalars())
        strangers = set(entry.tree_ids) - known[entry.garden_id]
        if strangers:
            raise StoreError(
                f"log entry {entry.id} names the tree {min(strangers)}, which its garden does not have"
            )
