"""Dates as they were last told, what they rested on, and how they moved."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any
from uuid import UUID

from sqlalchemy import and_, delete, func, select

from calendar_core.planning.moved_dates import DateMove, MovePart, Spell, ToldDate, Written
from calendar_core.storage.rows import columns, record, upsert
from calendar_core.storage.schema.told_tables import told_basis, told_date, told_move

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from sqlalchemy import Connection, Select

    from calendar_core.knowledge.words import DateSide

DateKey = tuple[UUID, "DateSide"]
"""The item and the side of it that a date is of."""


@dataclass(frozen=True, slots=True)
class Basis:
    """What dates rested on that were told together.

    ``measured_to`` is the last day measured, ``recorded`` when the newest entry known was written, ``record`` a mark of
    what is changed in place (garden, spots, measured days) and of how many entries there were, ``program`` one of the
    program with all it knows, ``forecast`` the run that the plan made use of (`forecast_data`).
    """

    id: UUID
    told_on: date
    measured_to: date | None
    recorded: datetime | None
    record: str
    program: str
    forecast: Mapping[str, Any] | None


@dataclass(frozen=True, slots=True)
class ToldDates:
    """All that is kept of a garden's told dates."""

    bases: tuple[Basis, ...] = ()
    dates: tuple[ToldDate, ...] = ()
    moves: tuple[DateMove, ...] = ()


def load_dates(connection: Connection, garden_id: UUID) -> dict[DateKey, ToldDate]:
    """Return the dates of a garden as they were last told."""
    chosen = select(*columns(told_date, ToldDate)).where(told_date.c.garden_id == garden_id)
    ordered = chosen.order_by(told_date.c.item_id, told_date.c.side)
    told = [ToldDate(*row) for row in connection.execute(ordered)]
    return {(row.item_id, row.side): row for row in told}


def load_bases(connection: Connection, garden_id: UUID) -> dict[UUID, Basis]:
    """Return what the dates of a garden rest on, by id."""
    chosen = select(*columns(told_basis, Basis)).where(told_basis.c.garden_id == garden_id)
    bases = (
        Basis(*row) for row in connection.execute(chosen.order_by(told_basis.c.told_on, told_basis.c.id))
    )
    return {basis.id: basis for basis in bases}


def save_dates(
    connection: Connection, garden_id: UUID, told: Iterable[ToldDate], bases: Iterable[Basis]
) -> None:
    """Store dates as they are told now, with what they rest on."""
    upsert(connection, told_basis, [record(basis, garden_id=garden_id) for basis in bases])
    upsert(connection, told_date, [record(row, garden_id=garden_id) for row in told])


def forget_dates(connection: Connection, garden_id: UUID, keys: Iterable[DateKey] = ()) -> None:
    """Forget dates that are told no more, and what no date rests on any more."""
    for item_id, side in keys:
        here = told_date.c.item_id == item_id, told_date.c.side == side
        connection.execute(delete(told_date).where(*here))
    used = select(told_date.c.basis).where(told_date.c.garden_id == garden_id)
    unused = told_basis.c.garden_id == garden_id, told_basis.c.id.not_in(used)
    connection.execute(delete(told_basis).where(*unused))


def load_whole(connection: Connection, garden_id: UUID) -> ToldDates:
    """Return all that is kept of a garden's told dates, in order."""
    bases, dates = load_bases(connection, garden_id), load_dates(connection, garden_id)
    moves = load_moves(connection, garden_id, date.min, date.max)
    return ToldDates(tuple(bases.values()), tuple(dates.values()), moves)


def save_whole(connection: Connection, garden_id: UUID, told: ToldDates) -> None:
    """Store what `load_whole` returned of another database."""
    save_dates(connection, garden_id, told.dates, told.bases)
    save_moves(connection, garden_id, told.moves)


def save_moves(
    connection: Connection,
    garden_id: UUID,
    moves: Iterable[DateMove],
    taken_back: Iterable[DateMove] = (),
) -> None:
    """Store moves, in place of those of the same date and day, and forget those that were taken back."""
    rows = [
        record(move, garden_id=garden_id, parts=[part_data(part) for part in move.parts]) for move in moves
    ]
    upsert(connection, told_move, rows)
    for move in taken_back:
        kept = told_move.c
        here = kept.item_id == move.item_id, kept.side == move.side, kept.moved_on == move.moved_on
        connection.execute(delete(told_move).where(*here))


def load_moves(connection: Connection, garden_id: UUID, first: date, last: date) -> tuple[DateMove, ...]:
    """Return the moves that were told from one day to another, in order."""
    kept = told_move.c
    chosen = select(*columns(told_move, DateMove)).where(
        kept.garden_id == garden_id, kept.moved_on.between(first, last)
    )
    ordered = chosen.order_by(kept.moved_on, kept.tree_id, kept.item_id, kept.side)
    return tuple(_move(dict(row)) for row in connection.execute(ordered).mappings())


def last_moves(connection: Connection, garden_id: UUID, upto: date) -> dict[DateKey, DateMove]:
    """Return the last move of each date that is still told."""
    kept = told_move.c
    same = kept.item_id == told_date.c.item_id, kept.side == told_date.c.side
    return _newest(connection, _days(garden_id, upto).join(told_date, and_(*same)))


def newest_moves(connection: Connection, garden_id: UUID, upto: date) -> dict[DateKey, DateMove]:
    """Return the last move of each date, whether it is still told or not."""
    return _newest(connection, _days(garden_id, upto))


def _days(garden_id: UUID, upto: date) -> Select[Any]:
    """Return the days on which dates moved last."""
    kept = told_move.c
    last = select(kept.item_id, kept.side, func.max(kept.moved_on).label("moved_on"))
    return last.where(kept.garden_id == garden_id, kept.moved_on <= upto).group_by(kept.item_id, kept.side)


def _newest(connection: Connection, days: Select[Any]) -> dict[DateKey, DateMove]:
    kept, newest = told_move.c, days.subquery()
    here = [kept[name] == newest.c[name] for name in ("item_id", "side", "moved_on")]
    rows = connection.execute(select(*columns(told_move, DateMove)).join(newest, and_(*here))).mappings()
    moves = [_move(dict(row)) for row in rows]
    return {(move.item_id, move.side): move for move in moves}


def _move(row: Mapping[str, Any]) -> DateMove:
    return DateMove(**{**row, "parts": tuple(part_of(data) for data in row["parts"])})


def part_data(part: MovePart) -> dict[str, Any]:
    """Return a part of a move as JSON; what it does not have is left out."""
    spell, data = part.spell, {"cause": part.cause, "days": part.days}
    more: dict[str, Any] = {}
    if spell is not None:
        days = {"first": spell.first.isoformat(), "last": spell.last.isoformat()}
        more["spell"] = record(spell) | days
    if part.written:
        more["written"] = [[note.kind, note.what, note.on.isoformat()] for note in part.written]
    return data | more


def part_of(data: Mapping[str, Any]) -> MovePart:
    """Return the part that `part_data` wrote."""
    spell = data.get("spell")
    if spell is not None:
        days = {name: date.fromisoformat(spell[name]) for name in ("first", "last")}
        spell = Spell(**{**spell, **days})
    notes = (Written(kind, what, date.fromisoformat(on)) for kind, what, on in data.get("written", ()))
    return MovePart(data["cause"], data["days"], spell, tuple(notes))
