"""Choosing among spots: the least change that keeps a tree below its line of caution."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from alerts.hazards.course import BAD_COURSES
from alerts.hazards.peaks import peaks
from alerts.shelter.times import NIGHTLY

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from uuid import UUID

    from alerts.air.hours import Hours, Place
    from alerts.hazards.stand import Stand
    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.forms.exposure import Exposure
    from calendar_core.knowledge.words import Hazard


@dataclass(frozen=True, slots=True)
class ShelterFound:
    """What a tree would meet at a spot: the bad course's worst moment, and the middle course's daily light.

    ``safe`` tells whether that is below the line of caution, ``spared`` whether below that of danger.
    """

    spot: Spot
    bad: float
    light_mol: float
    safe: bool
    spared: bool


@dataclass(frozen=True, slots=True)
class Weighing:
    """What all moves are weighed with."""

    hours: Hours
    place: Place
    rules: Exposure

    def found(
        self, stands: Sequence[Stand], spots: Sequence[Spot], hazard: Hazard, day: date
    ) -> dict[UUID, list[ShelterFound]]:
        """Return what each tree would meet at each spot on a day, in the order of the spots."""
        at = peaks(stands, spots, self.hours, self.place, self.rules, hazard)
        day_index = at.days.index(day)
        sign = falling(hazard)
        out: dict[UUID, list[ShelterFound]] = {}
        for i, stand in enumerate(stands):
            bad, caution = at.bad[i, :, day_index], at.caution[i, :, day_index]
            safe, spared = sign * bad < sign * caution, at.danger_chance[i, :, day_index] < 1 / BAD_COURSES
            light = at.light_mol[:, day_index]
            out[stand.tree] = [
                ShelterFound(spot, float(b), float(mol), bool(ok), bool(alive))
                for spot, b, mol, ok, alive in zip(spots, bad, light, safe, spared, strict=True)
            ]
        return out


def falling(hazard: Hazard) -> float:
    """Return 1 where harm lies above a line, -1 where it lies below."""
    return -1.0 if hazard in NIGHTLY else 1.0


def open_to(stand: Stand, spots: Sequence[Spot]) -> list[Spot]:
    """Return the spots a tree may be moved to: a quarantine is neither left nor entered for the weather's sake."""
    return [spot for spot in spots if spot.id != stand.spot.id and spot.quarantine == stand.spot.quarantine]


def warm(spot: Spot) -> bool:
    """Return whether a spot is heated: at night it would wake a tree that rests."""
    return spot.profile == "heated"


def stands_frost(stand: Stand) -> bool:
    """Return whether a tree is one that rests in winter, and not a tropical one, which cold above freezing harms."""
    return not stand.chills


def rests_in_cold(stand: Stand) -> bool:
    """Return whether warmth would wake a tree: one that stands frost, and has not come into leaf already."""
    return stands_frost(stand) and (stand.frost is None or "new leaves" not in stand.frost.reasons)


def least_change(candidates: Sequence[ShelterFound], hazard: Hazard) -> ShelterFound | None:
    """Return the spot that suffices and changes least: the most light, or at night the least warmth; None if none does."""
    safe = [candidate for candidate in candidates if candidate.safe]
    if hazard in NIGHTLY:
        return min(safe, key=lambda candidate: (candidate.bad, candidate.spot.name), default=None)
    return min(safe, key=lambda candidate: (-_known(candidate.light_mol), candidate.spot.name), default=None)


def best(candidates: Sequence[ShelterFound], hazard: Hazard) -> ShelterFound | None:
    """Return the spot at which least is to be feared."""
    return min(
        candidates, key=lambda candidate: (falling(hazard) * candidate.bad, candidate.spot.name), default=None
    )


def _known(light_mol: float) -> float:
    return 0.0 if np.isnan(light_mol) else light_mol
