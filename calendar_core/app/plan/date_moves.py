"""Told dates that moved, read from what was kept of them: no plan is made."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.storage import told_dates
from calendar_core.wording.plan.move_text import matters_line, moved_alike

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from uuid import UUID

    from sqlalchemy import Connection

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.moved_dates import DateMove
    from calendar_core.storage.told_dates import DateKey

LOOKED_BACK = timedelta(days=14)  # what moved in the weekend before last has been seen to (estimate)
LastMoves = dict["UUID", list["DateMove"]]


def moves_since(session: Session, day: date) -> tuple[DateMove, ...]:
    """Return the dates that moved from a day on, the newest move first, within a day those with less time left first."""
    with session.store.read() as connection:
        moves = told_dates.load_moves(connection, session.garden.id, day, session.today)
    trees = _places(session)
    return tuple(sorted(moves, key=lambda m: (-m.moved_on.toordinal(), not _costs(m), *_order(m, trees))))


def what_matters(session: Session, day: date) -> list[DateMove]:
    """Return the move from a day on that matters most, with the trees it is alike for; none where none is ahead.

    A last safe day that comes sooner goes before all else, then heavier work, then what is nearest. Only the last move of
    a date counts, and only of work that still stands.
    """
    with session.store.read() as connection:
        last = told_dates.last_moves(connection, session.garden.id, session.today).values()
    ahead = [move for move in last if move.moved_on >= day and move.after >= session.today]
    operations, trees = session.knowledge.operations, _places(session)
    order = sorted(ahead, key=lambda m: (not _costs(m), -operations[m.operation].weight, *_order(m, trees)))
    sets = moved_alike(session.speaker, order)
    return sets[0] if sets else []


def line_that_matters(session: Session, day: date) -> str:
    """Return `what_matters` as one line, "" where there is nothing."""
    moves = what_matters(session, day)
    return matters_line(session.speaker, moves, session.labels) if moves else ""


def last_moves(session: Session, connection: Connection) -> LastMoves:
    """Return the last moves of the dates that are told, as `by_item` does."""
    return by_item(told_dates.last_moves(connection, session.garden.id, session.today))


def by_item(found: Mapping[DateKey, DateMove]) -> LastMoves:
    """Return moves by item: that of its opening before that of its last safe day."""
    moves: LastMoves = {}
    for _, move in sorted(found.items(), key=lambda pair: pair[0][1]):
        moves.setdefault(move.item_id, []).append(move)
    return moves


def _costs(move: DateMove) -> bool:
    """Tell whether a move leaves less time: a last safe day that comes sooner can cost the tree."""
    return move.side == "safe" and move.days < 0


def _order(move: DateMove, trees: Mapping[UUID, int]) -> tuple[date, str, str, int]:
    return move.after, move.operation, move.side, trees[move.tree_id]


def _places(session: Session) -> dict[UUID, int]:
    return {tree: place for place, tree in enumerate(session.labels)}
