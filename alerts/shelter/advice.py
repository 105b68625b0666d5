"""From threats to advice: what to do with which trees, by when, and how it would be then."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from alerts.shelter.back import way_back
from alerts.shelter.choice import Found, Weighing, best, falling, least_change, open_to, stands_frost, warm
from alerts.shelter.times import NIGHTLY, by_when, until_when
from alerts.threats import Advice

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from alerts.hazards.air import Hours, Place
    from alerts.hazards.stand import Stand
    from alerts.threats import Hazard, Means, Threat, Why
    from calendar_core.garden.model import Spot
    from calendar_core.species.exposure_rules import Exposure

AGAIN_H = (
    15.0,
    12.0,
)  # when small pots are watered again, at noon where the afternoon is too late (common practice)
LIT: frozenset[Hazard] = frozenset({"heat", "sunburn", "hot roots", "drying"})  # met by less light


def advise(
    threats: Sequence[Threat],
    stands: Mapping[UUID, Stand],
    spots: Sequence[Spot],
    hours: Hours,
    place: Place,
    rules: Exposure,
    now: datetime,
    wanted: Collection[tuple[date, Hazard]],
) -> dict[tuple[date, Hazard], tuple[Advice, ...]]:
    """Return the smallest means against each threat by day and hazard; trees that share one are told together.

    Parameters
    ----------
    threats : of days in a row, since a move lasts as long as they do
    wanted : the days and hazards for which advice is asked
    stands : by tree, those threatened at least
    spots : all of the garden
    hours, place, rules : as `hazards.judge.judge`
    now : aware
    """
    by_tree: defaultdict[tuple[Hazard, UUID], list[Threat]] = defaultdict(list)
    together: defaultdict[tuple[date, Hazard], list[Threat]] = defaultdict(list)
    for threat in threats:
        by_tree[threat.hazard, threat.tree].append(threat)
        if (threat.day, threat.hazard) in wanted:
            together[threat.day, threat.hazard].append(threat)
    advice: dict[tuple[date, Hazard], tuple[Advice, ...]] = {}
    for (day, hazard), alike in together.items():
        weighing = Weighing(_around(hours, place, day), place, rules)
        means = _Means(weighing, spots, hazard, day)
        answers = means.against([stands[threat.tree] for threat in alike])
        advice[day, hazard] = _shared(
            means.timed(answers[threat.tree], threat, by_tree[hazard, threat.tree], stands[threat.tree], now)
            for threat in alike
        )
    return advice


def _around(hours: Hours, place: Place, day: date) -> Hours:
    """Return the hours of a day and of the one before, from which pots and nights begin."""
    begin, end = (datetime.combine(day + timedelta(days=n), time(), place.zone) for n in (-1, 1))
    return hours.part(begin, end)


def _shared(found: Iterable[Advice]) -> tuple[Advice, ...]:
    """Return advice with the trees that share it together; ``here`` and ``there`` are those of the worst off."""
    groups: defaultdict[Advice, list[Advice]] = defaultdict(list)
    for one in found:
        groups[replace(one, trees=(), here=0.0, there=0.0, light_mol=None)].append(one)
    out = []
    for members in groups.values():
        sign = falling(members[0].hazard)
        worst_here = max(members, key=lambda one: sign * one.here)
        worst_there = max(members, key=lambda one: sign * one.there)
        trees = tuple(tree for one in members for tree in one.trees)
        out.append(replace(worst_here, trees=trees, there=worst_there.there))
    return tuple(out)


class _Means:
    """The means against one hazard on one day."""

    def __init__(self, weighing: Weighing, spots: Sequence[Spot], hazard: Hazard, day: date) -> None:
        self.weighing, self.spots, self.hazard, self.day = weighing, spots, hazard, day
        self.light_mol: dict[UUID, float] = {}

    def against(self, stands: Sequence[Stand]) -> dict[UUID, Advice]:
        """Return what to do with each tree, without its hours."""
        out: dict[UUID, Advice] = {}
        of_spot: defaultdict[UUID, list[Stand]] = defaultdict(list)
        for stand in stands:
            of_spot[stand.spot.id].append(stand)
        for alike in of_spot.values():
            own, others = alike[0].spot, open_to(alike[0], self.spots)
            found = self.weighing.found(alike, [own, *others], self.hazard, self.day)
            self.light_mol |= {one.spot.id: one.light_mol for one in found[alike[0].tree]}
            watered = self._watered(alike)
            for stand in alike:
                here, *there = found[stand.tree]
                out[stand.tree] = self._choose(stand, here, there, watered.get(stand.tree))
        return out

    def timed(
        self, one: Advice, threat: Threat, others: Sequence[Threat], stand: Stand, now: datetime
    ) -> Advice:
        """Return advice with its hours, and with the steps back where the tree got used to shade."""
        zone, rules = self.weighing.place.zone, self.weighing.rules
        until = until_when(threat, others).astimezone(zone)
        timed = replace(one, by=by_when(threat, one.do, now, zone), until=until)
        if one.to is None or one.light_mol is None:
            return timed
        spots = {stand.spot.id, *(spot.id for spot in open_to(stand, self.spots))}
        light = {spot: mol for spot, mol in self.light_mol.items() if spot in spots}
        days = (until.date() - threat.day).days + 1
        steps = way_back(stand.spot.id, one.to, days, light, rules.light)
        return replace(
            timed, back=tuple((until.date() + timedelta(days=1 + later), spot) for later, spot in steps)
        )

    def _watered(self, stands: Sequence[Stand]) -> dict[UUID, Found]:
        """Return what trees would meet in their places if they were watered once more, at the hour that helps most."""
        out: dict[UUID, Found] = {}
        for hour in AGAIN_H if self.hazard == "drying" else ():
            again = [replace(one, watered_h=tuple(sorted({*one.watered_h, hour}))) for one in stands]
            found = self.weighing.found(again, [stands[0].spot], self.hazard, self.day)
            out = {
                tree: min(one, out.get(tree, one), key=lambda at: at.bad) for tree, (one,) in found.items()
            }
        return out

    def _choose(self, stand: Stand, here: Found, others: Sequence[Found], watered: Found | None) -> Advice:
        if watered is not None and watered.safe:
            return self._advice(stand, here, watered, "water")
        rests = self.hazard in NIGHTLY and stands_frost(stand)
        cool = [one for one in others if not (rests and warm(one.spot))]
        moved, (do, kept) = least_change(cool, self.hazard), self._in_place(stand)
        if do == "shade pot" and kept is not None and kept.safe:
            return self._advice(stand, here, kept, do)
        if moved is not None:
            return self._advice(stand, here, moved, "move")
        if kept is not None and kept.safe:
            return self._advice(stand, here, kept, do)
        indoors = least_change(others, self.hazard)
        if indoors is not None:
            return self._advice(stand, here, indoors, "move", "warm room")
        return self._best(stand, here, {"move": best(others, self.hazard), "water": watered, do: kept})

    def _best(self, stand: Stand, here: Found, found: Mapping[Means, Found | None]) -> Advice:
        """Return what helps most where nothing suffices, or that nothing helps enough to be worth its trouble."""
        sign = falling(self.hazard)
        known = [(sign * one.bad, do, one) for do, one in found.items() if one is not None]
        if known:
            least, do, one = min(known, key=lambda of: of[0])
            if sign * here.bad - least >= self._worth:
                return self._advice(stand, here, one, do, "best there is")
        return self._advice(
            stand, here, here, "lay down" if self.hazard == "wind" else "nothing", "no better place"
        )

    @property
    def _worth(self) -> float:
        """How much less there must be to fear for a move to be worth its trouble."""
        near = self.weighing.rules.near
        if self.hazard in ("drying", "sunburn"):
            return near.share.value
        return near.ms.value if self.hazard in ("wind", "hail") else near.c.value

    def _in_place(self, stand: Stand) -> tuple[Means, Found | None]:
        """Return what can be done for a tree in its place, and what it would meet then."""
        spot, rules = stand.spot, self.weighing.rules
        match self.hazard:
            case "hot roots":
                shaded = replace(stand.pot, sun_gain_c=stand.pot.sun_gain_c * rules.pot.shaded_share.value)
                return "shade pot", self._found(replace(stand, pot=shaded), spot)
            case "frost" if not spot.roof:
                return "wrap", self._found(stand, replace(spot, roof=True))
            case "cold roots" if spot.surface != "ground":
                return "set down", self._found(stand, replace(spot, surface="ground"))
            case "heat" | "sunburn" | "drying" if stand.cloth_percent > spot.cloth_percent:
                return "cover", self._found(stand, replace(spot, cloth_percent=round(stand.cloth_percent)))
        return "nothing", None

    def _found(self, stand: Stand, spot: Spot) -> Found | None:
        if stand.spot.profile != "open":
            return None
        return self.weighing.found([stand], [spot], self.hazard, self.day)[stand.tree][0]

    def _advice(
        self, stand: Stand, here: Found, there: Found, do: Means, why: Why = "below the line"
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
