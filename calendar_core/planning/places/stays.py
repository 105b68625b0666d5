"""Where a tree stands by its log: the spot, since when, and the places that it came from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.places.moves import Stay

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from uuid import UUID

    from calendar_core.garden.model import Spot
    from calendar_core.garden.state import TreeState
    from calendar_core.planning.seasons.axis import Axis


def stays_of(state: TreeState, spots: Mapping[UUID, Spot]) -> list[tuple[date, Spot]]:
    """Return the days on which a tree came to stand under other conditions, with the spot; spots alike are one stay."""
    out: list[tuple[date, Spot]] = []
    for day, spot in ((day, spots[spot]) for day, spot in state.moves if spot in spots):
        alike = out and out[-1][1].profile == spot.profile
        if alike:
            out[-1] = (out[-1][0], spot)
        else:
            out.append((day, spot))
    return out


def stay_of(state: TreeState, spots: Mapping[UUID, Spot], axis: Axis) -> Stay:
    """Return where a tree stands; one of which no spot is known stands in the open.

    Where it stood before its first entry is taken to be where it came to stand: then it has stood there always.
    """
    stays = stays_of(state, spots)
    if not stays:
        return Stay(None, 0, None)
    home = next((spot for _, spot in reversed(stays) if spot.profile == "open"), None)
    day, spot = stays[-1]
    return Stay(spot, axis.index(day) if len(stays) > 1 else 0, home)
