"""The usual year of a species at a place: when it goes under cover and comes out, when it is shaded."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from uuid import UUID

import numpy as np

from calendar_core.garden.model import Spot
from calendar_core.knowledge.words import COVERS
from calendar_core.planning.places.bounds import bounds_of
from calendar_core.planning.places.moves import Move, Mover, Stay
from calendar_core.planning.places.operations import DOWN, INTO, OUT, UP
from calendar_core.planning.places.shade import ShadeMove, shade_move

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import date

    from calendar_core.knowledge.forms.species.profile import Profile, Shade, Shelter
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.items import Range
    from calendar_core.planning.places.chances import Chances
    from calendar_core.planning.seasons.axis import Axis

NOBODY = UUID(int=0)
HALF_YEAR = 182
OPEN = Spot(NOBODY, NOBODY, "bench")
PLACES = {UUID(int=n): Spot(UUID(int=n), NOBODY, place, profile=place) for n, place in enumerate(COVERS, 1)}


@dataclass(frozen=True, slots=True)
class PlaceYear:
    """When a move is usually made: from ``opens`` on, by a day; None where it never comes."""

    operation: str
    opens: date | None
    by: date | None
    how: str
    rule: Shelter | Shade


def places_year(
    profile: Profile, knowledge: Knowledge, chances: Chances, wakes: date | None, cycle: int
) -> tuple[PlaceYear, ...]:
    """Return the moves of a cycle's year for a tree of which nothing is known, in a garden that has every place.

    ``wakes`` is when the stage comes that calls it out.
    """
    usual = replace(chances, reach=chances.today - 1, error_c=np.zeros_like(chances.error_c))
    out: list[PlaceYear] = []
    for shelter in profile.shelter[:1]:
        out += _moves(profile, shelter, knowledge, usual, wakes, cycle)
    for shade in profile.shade[:1]:
        out += _shades(shade, knowledge, usual, cycle)
    return tuple(out)


def wakes_on(profile: Profile, stages: Mapping[str, Range | None]) -> date | None:
    """Return the likely day of the stage that calls a tree out, None where it has none or it does not come."""
    stage = next((stages.get(shelter.wakes or "") for shelter in profile.shelter), None)
    return None if stage is None else stage.likely


def _moves(
    profile: Profile, shelter: Shelter, knowledge: Knowledge, chances: Chances, wakes: date | None, cycle: int
) -> Iterator[PlaceYear]:
    axis = chances.air.axis
    resting = None
    if shelter.rests and wakes is not None:
        days = np.arange(axis.n_days)
        resting = (days < axis.index(wakes)) | (days >= axis.midsummer(cycle))
    bounds = bounds_of(profile, shelter, knowledge, axis.n_days, resting=resting)
    mover = Mover(bounds, PLACES, chances, knowledge.places, rests=shelter.rests)
    winter, summer = chances.air.coldest(cycle), axis.midsummer(cycle)
    cover = PLACES[UUID(int=2 if shelter.rests else 3)]
    into = mover.next(Stay(OPEN, 0, None), summer)
    comes = isinstance(into, Move) and summer < into.by < summer + 2 * HALF_YEAR
    out = mover.next(Stay(cover, 0, OPEN), winter) if comes else None
    for operation, move, how in ((OUT, out, shelter.out), (INTO, into if comes else None, shelter.into)):
        yield _row(operation, move if isinstance(move, Move) else None, how, shelter, axis)


def _shades(shade: Shade, knowledge: Knowledge, chances: Chances, cycle: int) -> Iterator[PlaceYear]:
    axis, spring, summer = chances.air.axis, chances.air.coldest(cycle), chances.air.warmest(cycle)
    up = shade_move(
        shade.from_c, None, replace(chances, today=spring, reach=spring - 1), knowledge.places, shaded=False
    )
    comes = isinstance(up, ShadeMove) and up.by < spring + HALF_YEAR + HALF_YEAR // 2
    down = (
        shade_move(shade.from_c, None, replace(chances, today=summer), knowledge.places, shaded=True)
        if comes
        else None
    )
    for operation, move, how in ((UP, up if comes else None, shade.up), (DOWN, down, shade.down)):
        yield _row(operation, move if isinstance(move, ShadeMove) else None, how, shade, axis)


def _row(
    operation: str, move: Move | ShadeMove | None, how: str, rule: Shelter | Shade, axis: Axis
) -> PlaceYear:
    if move is None:
        return PlaceYear(operation, None, None, how, rule)
    return PlaceYear(operation, axis.day(move.opens), axis.day(move.by), how, rule)
