"""The rooms that trees live in: where one has stood and will stand, as far as its moves can be foretold."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.places.bounds import bounds_of
from calendar_core.planning.places.moves import Mover
from calendar_core.planning.places.stays import stay_of, stays_of

if TYPE_CHECKING:
    from calendar_core.garden.model import Tree
    from calendar_core.garden.state import TreeState
    from calendar_core.garden.thermal import History
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.knowledge.words import ThermalProfile
    from calendar_core.planning.places.chances import Chances
    from calendar_core.planning.seasons.axis import Axis
    from calendar_core.planning.seasons.species_stages import Grove

MOST_MOVES = 6  # on an axis of three years


def lives_by_nights(profile: Profile) -> bool:
    """Return whether the stages of a species follow the nights where it stands, and not the seasons outdoors."""
    return any(stage.nights is not None for stage in profile.stages.values())


def room_of(tree: Tree, grove: Grove, knowledge: Knowledge, chances: Chances) -> History:
    """Return the places a tree lives in over the axis, empty for one that goes by the seasons outdoors.

    Those to come are where it is moved to if each move is made in time.
    """
    profile, axis = knowledge.profiles[tree.species], chances.air.axis
    if not lives_by_nights(profile) or not profile.shelter:
        return ()
    state, shelter = grove.states[tree.id], profile.shelter[0]
    bounds = bounds_of(profile, shelter, knowledge, axis.n_days)
    mover = Mover(bounds, grove.spots, chances, knowledge.places, rests=False)
    coming: list[tuple[int, ThermalProfile]] = [
        (max(move.by if move.into else move.opens, chances.today), move.to.profile)
        for move in mover.moves(stay_of(state, grove.spots, axis), MOST_MOVES)
        if move.to is not None
    ]
    lived = (*_past(state, grove, axis), *coming)
    return () if all(place == "open" for _, place in lived) else lived


def _past(state: TreeState, grove: Grove, axis: Axis) -> tuple[tuple[int, ThermalProfile], ...]:
    """Return where it has stood; before its first entry, where it came to stand with that."""
    stays = [(max(axis.index(day), 0), spot.profile) for day, spot in stays_of(state, grove.spots)]
    return ((0, stays[0][1]), *stays[1:]) if stays else ((0, "open"),)
