"""Told dates of an exported folder: from their forms to what is stored, and what may be wrong with them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from calendar_core.planning.moved_dates import DateMove, MovePart, Spell, ToldDate, Written
from calendar_core.storage.services import forecast_of
from calendar_core.storage.told_dates import Basis, ToldDates

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator
    from uuid import UUID

    from calendar_core.app.carrying.forms import DatesForm


def dates_of(form: DatesForm) -> ToldDates:
    """Return the told dates of a form."""
    return ToldDates(
        tuple(Basis(**dict(basis)) for basis in form.bases),
        tuple(ToldDate(**dict(day)) for day in form.dates),
        tuple(_move(move) for move in form.moves),
    )


def _move(form: Any) -> DateMove:
    return DateMove(**{**dict(form), "parts": tuple(_part(part) for part in form.parts)})


def _part(form: Any) -> MovePart:
    spell = None if form.spell is None else Spell(**dict(form.spell))
    return MovePart(form.cause, form.days, spell, tuple(Written(**dict(note)) for note in form.written))


def faults_of_dates(told: ToldDates, trees: Collection[UUID], operations: Collection[str]) -> Iterator[str]:
    """Yield what does not hang together: trees, bases and operations that are not there, forecasts that are none."""
    bases = {basis.id for basis in told.bases}
    named = {day.tree_id for day in told.dates} | {move.tree_id for move in told.moves}
    for tree in sorted(named.difference(trees)):
        yield f"dates: tree_id: no tree {tree}; right would be ids of trees.csv"
    for day in told.dates:
        if day.basis not in bases:
            yield f"dates: basis: found {day.basis}; right would be one of bases"
    for move in told.moves:
        if move.operation not in operations:
            yield f"dates: operation: found '{move.operation}'; right would be one of the program's"
    for basis in told.bases:
        try:
            if basis.forecast is not None:
                forecast_of(basis.forecast)
        except (KeyError, TypeError, ValueError):
            yield f"dates: forecast of {basis.id}: is not what a forecast holds"
