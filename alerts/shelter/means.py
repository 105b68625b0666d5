"""The means against one hazard on one day, from the least upward, and the one to choose."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

from alerts.shelter.choice import (
    ShelterFound,
    Weighing,
    best,
    falling,
    least_change,
    open_to,
    rests_in_cold,
    stands_frost,
    warm,
)
from alerts.shelter.times import LIT, NIGHTLY
from alerts.threats import Advice

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from alerts.hazards.stand import Stand
    from alerts.threats import Why
    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.words import Hazard
    from calendar_core.knowledge.words import Means as Do

NOON_H = 12.0  # when a pot is watered again that would not last until the usual second time (common practice)


class Means:
    """What trees would meet in their places and elsewhere."""

    def __init__(
        self, weighing: Weighing, spots: Sequence[Spot], hazard: Hazard, day: date, stands: Sequence[Stand]
    ) -> None:
        self.weighing, self.hazard, self.day = weighing, hazard, day
        self.light_mol: dict[UUID, float] = {}  # by spot
        self._found: dict[UUID, list[ShelterFound]] = {}  # by tree: where it stands, then elsewhere
        of_spot: defaultdict[UUID, list[Stand]] = defaultdict(list)
        for stand in stands:
            of_spot[stand.spot.id].append(stand)
        for alike in of_spot.values():
            # A heated room is no refuge from the sun: it is dark, and a tree comes back from it in weeks.
            away = [spot for spot in open_to(alike[0], spots) if not (hazard in LIT and warm(spot))]
            asked = [alike[0].spot, *away]
            found = weighing.found(alike, asked, hazard, day)
            self.light_mol |= {candidate.spot.id: candidate.light_mol for candidate in found[alike[0].tree]}
            self._found |= found
        # Drying is met by water, wherever a tree stands.
        self.safe_spots = {
            stand.tree: frozenset(candidate.spot.id for candidate in self._cool(stand) if candidate.safe)
            for stand in stands
            if hazard != "drying"
        }

    def least(self, tree: UUID, spots: Collection[UUID]) -> ShelterFound | None:
        """Return that of some spots which changes least for a tree, None where there is none."""
        return least_change(
            [candidate for candidate in self._found[tree][1:] if candidate.spot.id in spots], self.hazard
        )

    def spares(self, tree: UUID, spot: UUID) -> bool:
        """Return whether a tree would stay above its line of danger at a spot; of trees not asked for it is not known."""
        return (
            any(candidate.spot.id == spot and candidate.spared for candidate in self._found.get(tree, ()))
            or tree not in self._found
        )

    def against(self, stand: Stand, joint: UUID | None = None) -> Advice:
        """Return what to do with a tree, without its hours; ``joint`` is a spot that suffices against all it meets."""
        here, *others = self._found[stand.tree]
        if self.hazard == "drying":
            return self._water(stand, here)
        shared = next((candidate for candidate in others if candidate.spot.id == joint), None)
        if shared is not None:
            return self._advice(stand, here, shared, "move")
        do, kept = self._in_place(stand)
        moved = least_change(self._cool(stand), self.hazard)
        if do == "shade pot" and kept is not None and kept.safe:
            return self._advice(stand, here, kept, do)
        if moved is not None:
            return self._advice(stand, here, moved, "move")
        if kept is not None and kept.safe:
            return self._advice(stand, here, kept, do)
        rests = self.hazard in NIGHTLY and rests_in_cold(stand)
        if rests:
            cool: dict[Do, ShelterFound | None] = {"move": best(self._cool(stand), self.hazard), do: kept}
            if here.spared or any(candidate is not None and candidate.spared for candidate in cool.values()):
                return self._best(stand, here, cool)
        indoors = least_change(others, self.hazard)
        if indoors is not None:
            return self._advice(stand, here, indoors, "move", "warm room" if rests else "below the line")
        return self._best(stand, here, {"move": best(others, self.hazard), do: kept})

    def _cool(self, stand: Stand) -> list[ShelterFound]:
        """Return the other spots, but for those that would wake a tree in the cold of a night."""
        others = self._found[stand.tree][1:]
        keeps_cool = self.hazard in NIGHTLY and stands_frost(stand)
        return [candidate for candidate in others if not (keeps_cool and warm(candidate.spot))]

    def _water(self, stand: Stand, here: ShelterFound) -> Advice:
        """Return that a tree is to be watered once more, at the hour that helps most."""
        usual = self.weighing.rules.drying.again_h.value
        hours = [tuple(sorted({*stand.watered_h, hour})) for hour in (usual, NOON_H)]
        again = [self._at(replace(stand, watered_h=watered), stand.spot) for watered in hours]
        least = min(again, key=lambda candidate: candidate.bad)
        return self._advice(stand, here, least, "water", "below the line" if least.safe else "best there is")

    def _best(self, stand: Stand, here: ShelterFound, found: Mapping[Do, ShelterFound | None]) -> Advice:
        """Return what helps most where nothing suffices, or that nothing helps enough to be worth its trouble."""
        sign = falling(self.hazard)
        ways = [
            (sign * candidate.bad, do, candidate) for do, candidate in found.items() if candidate is not None
        ]
        if ways:
            least, do, candidate = min(ways, key=lambda of: of[0])
            if candidate.spared > here.spared or sign * here.bad - least >= self._worth:
                return self._advice(stand, here, candidate, do, "best there is")
        left: Do = "lay down" if self.hazard == "wind" else "nothing"
        return self._advice(stand, here, here, left, "no better place")

    @property
    def _worth(self) -> float:
        """How much less there must be to fear for a move to be worth its trouble."""
        near = self.weighing.rules.near
        if self.hazard == "sunburn":
            return near.share.value
        return near.ms.value if self.hazard in ("wind", "hail") else near.c.value

    def _in_place(self, stand: Stand) -> tuple[Do, ShelterFound | None]:
        """Return what can be done for a tree in its place, and what it would meet then."""
        spot, rules = stand.spot, self.weighing.rules
        if spot.profile != "open":
            return "nothing", None
        match self.hazard:
            case "hot roots":
                shaded = replace(stand.pot, sun_gain_c=stand.pot.sun_gain_c * rules.pot.shaded_share.value)
                return "shade pot", self._at(replace(stand, pot=shaded), spot)
            case "frost" if not spot.roof:
                return "wrap", self._at(stand, replace(spot, roof=True))
            case "cold roots" if spot.surface != "mulch":
                return "set down", self._at(stand, replace(spot, surface="mulch"))
            case "heat" | "sunburn" if stand.cloth_percent > spot.cloth_percent:
                return "cover", self._at(stand, replace(spot, cloth_percent=round(stand.cloth_percent)))
        return "nothing", None

    def _at(self, stand: Stand, spot: Spot) -> ShelterFound:
        return self.weighing.found([stand], [spot], self.hazard, self.day)[stand.tree][0]

    def _advice(
        self, stand: Stand, here: ShelterFound, there: ShelterFound, do: Do, why: Why = "below the line"
    ) -> Advice:
        lit = self.hazard in LIT and do in ("move", "cover")
        return Advice(
            (stand.tree,),
            self.hazard,
            do,
            self.weighing.hours.start,
            self.weighing.hours.start,
            here.bad,
            there.bad,
            there.spot.id if do == "move" else None,
            there.light_mol if lit else None,
            there.light_mol >= stand.needs_mol if lit else None,
            cloth_percent=there.spot.cloth_percent if do == "cover" else 0,
            why=why,
        )
