"""Telling dates: what today's plan says is held against what was told; what moved is explained and kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.app.plan.date_chain import Moving, basis_of, explained
from calendar_core.planning.groups import published_items
from calendar_core.planning.moved_dates import ToldDate, days_told, joined, still_ahead, was_open
from calendar_core.publishing.revise import DAMPING
from calendar_core.storage import published
from calendar_core.storage import told_dates as stored

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from sqlalchemy import Connection

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.items import Item
    from calendar_core.planning.moved_dates import DateMove
    from calendar_core.storage.told_dates import Basis, DateKey


@dataclass(frozen=True)
class TellingDates:
    """What is to be stored as dates are told: those told anew, what they rest on, those told no more, and moves.

    ``last`` are the last moves of all dates that are told then.
    """

    anew: tuple[ToldDate, ...]
    basis: Basis | None
    gone: frozenset[DateKey]
    moves: tuple[DateMove, ...]
    taken_back: tuple[DateMove, ...]
    last: Mapping[DateKey, DateMove]


def tell_dates(session: Session, connection: Connection) -> TellingDates:
    """Return how the dates of today's plan are told, and those that moved since they were last told, with what moved them.

    Told is what subscribers are: work that is due or wished, and likely enough. A date has moved when the shift is worth
    telling (`DAMPING`) and it is still ahead; until then what was told stands. An opening before the day it was told on
    is told anew without a move. What has left the plan is forgotten, and told anew if it comes back. Only what moved is
    planned again, and only its trees.
    """
    garden_id, today = session.garden.id, session.today
    told = stored.load_dates(connection, garden_id)
    items = {item.id: item for item in _items(session, connection)}
    now = {(item.id, side): day for item in items.values() for side, day in days_told(item, today).items()}
    moved = [key for key, day in now.items() if key in told and _has_moved(told[key], day, today)]
    moving = [
        Moving(items[key[0]], told[key], now[key]) for key in moved if not was_open(told[key], now[key])
    ]
    moves, taken_back = _explained(session, connection, moving)
    anew = {*moved, *(now.keys() - told.keys())}
    basis = basis_of(session) if anew else None
    dates = tuple(
        ToldDate(item, side, items[item].tree_id, now[item, side], today, basis.id)
        for item, side in anew
        if basis is not None
    )
    last = _last_moves(session, connection, moves, taken_back)
    still = {key: move for key, move in last.items() if key in now}
    return TellingDates(dates, basis, frozenset(told.keys() - now.keys()), moves, taken_back, still)


def save_telling(connection: Connection, garden_id: UUID, telling: TellingDates) -> None:
    """Store how dates are told."""
    stored.save_moves(connection, garden_id, telling.moves, telling.taken_back)
    if telling.basis is not None:
        stored.save_dates(connection, garden_id, telling.anew, [telling.basis])
    if telling.anew or telling.gone:
        stored.forget_dates(connection, garden_id, telling.gone)


def _last_moves(
    session: Session, connection: Connection, moves: Sequence[DateMove], taken_back: Sequence[DateMove]
) -> dict[DateKey, DateMove]:
    """Return the last move of every date as it is once these are stored."""
    garden_id, today = session.garden.id, session.today
    before = stored.newest_moves(connection, garden_id, today - timedelta(days=1))
    of_today = {(m.item_id, m.side): m for m in stored.load_moves(connection, garden_id, today, today)}
    for move in taken_back:
        of_today.pop((move.item_id, move.side), None)
    return before | of_today | {(move.item_id, move.side): move for move in moves}


def _items(session: Session, connection: Connection) -> list[Item]:
    known = published.load_members(connection, session.garden.id)
    return published_items(session.plan.items, known, session.knowledge, session.grove.states)


def _has_moved(told: ToldDate, day: date, today: date) -> bool:
    """Tell whether a date moved by what is worth telling, the farther ahead the more, and is still ahead."""
    if not still_ahead(told, day, today):
        return False
    lead_d = ((told.day if told.day > today else day) - today).days
    shift_d, band_d = (day - told.day).days, DAMPING.band_at_d(lead_d)
    if told.side == "safe" and shift_d > 0:
        band_d = max(band_d, DAMPING.later_band_d)
    return abs(shift_d) >= band_d


def _explained(
    session: Session, connection: Connection, moving: Sequence[Moving]
) -> tuple[tuple[DateMove, ...], tuple[DateMove, ...]]:
    """Return the moves of some dates, and those of today that are taken back; what moved earlier today is one with it."""
    if not moving:
        return (), ()
    garden_id, today = session.garden.id, session.today
    bases = stored.load_bases(connection, garden_id)
    moves: list[DateMove] = []
    for basis, some in _by_basis(moving).items():
        moves += explained(session, bases[basis], some)
    before = stored.load_moves(connection, garden_id, today, today)
    earlier = {(move.item_id, move.side): move for move in before}
    whole: list[DateMove] = []
    taken_back: list[DateMove] = []
    for move in moves:
        first = earlier.get((move.item_id, move.side))
        both = move if first is None else joined(first, move)
        (taken_back if both is None else whole).append(both or move)
    return tuple(whole), tuple(taken_back)


def _by_basis(moving: Iterable[Moving]) -> dict[UUID, list[Moving]]:
    found: dict[UUID, list[Moving]] = {}
    for date_moving in moving:
        found.setdefault(date_moving.told.basis, []).append(date_moving)
    return found
