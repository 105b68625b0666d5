"""Writing to the log: entries made from what was typed, checked before anything is stored."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4, uuid5

from calendar_core.app.shell.days import ahead
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.options import read_day
from calendar_core.garden.model import Entry
from calendar_core.storage import log
from calendar_core.storage.gardens import OWNER

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import EntryKind, Tree


def happened(session: Session, day: str | None) -> date:
    """Return the day something happened as typed, today if none is; a day that lies ahead is refused."""
    on = read_day(day) if day else session.today
    if on > session.today:
        raise Refusal(ahead(on, session.today))
    return on


def entry(
    session: Session,
    trees: Sequence[Tree],
    kind: EntryKind,
    data: dict[str, Any],
    on: date,
    *,
    voids: UUID | None = None,
    parts: Sequence[UUID] = (),
    place: int = 0,
) -> Entry:
    """Return an entry about trees, written by the owner now; ``place`` orders those written together.

    It is recorded later than every other, however fast they follow: the last word about a day is what counts.
    """
    moments = [entry.recorded_at + timedelta(seconds=1) for entry in session.entries]
    return Entry(
        uuid4(),
        session.garden.id,
        tuple(tree.id for tree in trees),
        on,
        max([session.clock.now, *moments]) + timedelta(milliseconds=place),
        OWNER,
        kind,
        data,
        voids=voids,
        part_ids=tuple(parts),
    )


def with_ids(entries: Sequence[Entry], first: UUID | None) -> tuple[Entry, ...]:
    """Return entries under ids made from one that whoever sends them chose: sent again, they are known again."""
    if first is None:
        return tuple(entries)
    ids = [first, *(uuid5(first, str(place)) for place in range(1, len(entries)))]
    return tuple(replace(entry, id=one) for entry, one in zip(entries, ids, strict=True))


def is_written(session: Session, first: UUID | None) -> bool:
    """Tell whether an entry of an id is stored already, whether it holds or was taken back since."""
    if first is None:
        return False
    with session.store.read() as connection:
        return log.is_stored(connection, session.garden.id, first)


def write(session: Session, *entries: Entry) -> None:
    """Store entries, all or none."""
    with session.store.begin() as connection:
        log.append(connection, entries)
