"""From threats to advice: what to do with which trees, by when, and how it would be then."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from alerts.shelter.back import way_back
from alerts.shelter.choice import Weighing, falling, open_to, stands_frost
from alerts.shelter.means import Means
from alerts.shelter.times import LIT, NIGHTLY, PAUSE, by_when, until_when

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from alerts.air.hours import Hours, Place
    from alerts.hazards.stand import Stand
    from alerts.threats import Advice, Threat, Why
    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.forms.exposure import Exposure
    from calendar_core.knowledge.words import Hazard


@dataclass(frozen=True, slots=True)
class PlannedCover:
    """Where the plan wants a tree under cover, and whether it then stays there."""

    spot: UUID
    stays: bool


def advise(
    threats: Sequence[Threat],
    stands: Mapping[UUID, Stand],
    spots: Sequence[Spot],
    hours: Hours,
    place: Place,
    rules: Exposure,
    now: datetime,
    wanted: Collection[tuple[date, Hazard]],
    covers: Mapping[UUID, PlannedCover] | None = None,
) -> dict[tuple[date, Hazard], tuple[Advice, ...]]:
    """Return the smallest means against each threat by day and hazard; trees that share one are told together.

    A tree that several hazards threaten by one day, or in one night, goes to one spot that suffices against all of
    them, if there is one.

    Parameters
    ----------
    threats : of days in a row, since a move lasts as long as they do
    wanted : the days and hazards for which advice is asked
    stands : by tree, those threatened at least
    spots : all of the garden
    hours, place, rules : as `hazards.judge.judge`
    now : aware
    covers : by tree, where the plan wants it under cover these days: warning and plan then name one spot
    """
    planned = covers or {}
    by_tree: defaultdict[tuple[Hazard, UUID], list[Threat]] = defaultdict(list)
    days: defaultdict[date, defaultdict[Hazard, list[Threat]]] = defaultdict(lambda: defaultdict(list))
    for threat in threats:
        by_tree[threat.hazard, threat.tree].append(threat)
        if (threat.day, threat.hazard) in wanted:
            days[threat.day][threat.hazard].append(threat)
    advice: dict[tuple[date, Hazard], tuple[Advice, ...]] = {}
    for day, by_hazard in days.items():
        weighing = Weighing(_around(hours, place, day), place, rules)
        of_hazard = {
            hazard: Means(weighing, spots, hazard, day, [stands[threat.tree] for threat in alike])
            for hazard, alike in by_hazard.items()
        }
        joint = _by_night(of_hazard, planned)
        answers = {
            (hazard, threat.tree): of_hazard[hazard].against(
                stands[threat.tree], joint[hazard in NIGHTLY].get(threat.tree)
            )
            for hazard, alike in by_hazard.items()
            for threat in alike
        }
        met: defaultdict[tuple[bool, UUID, str, UUID | None], list[Threat]] = defaultdict(list)
        for hazard, alike in by_hazard.items():
            for threat in alike:
                met[_move(hazard, threat.tree, answers[hazard, threat.tree])].append(threat)
        for hazard, alike in by_hazard.items():
            court = _Hours(of_hazard[hazard], spots, by_tree, now, planned)
            timed = []
            for threat in alike:
                answer = answers[hazard, threat.tree]
                beside = met[_move(hazard, threat.tree, answer)]
                timed.append(court.timed(answer, threat, beside, stands[threat.tree]))
            advice[day, hazard] = _shared(timed)
    return advice


def _move(hazard: Hazard, tree: UUID, advice: Advice) -> tuple[bool, UUID, str, UUID | None]:
    """Return what is the same for hazards that one move of a tree meets."""
    return hazard in NIGHTLY, tree, advice.do, advice.to


def _by_night(
    of_hazard: Mapping[Hazard, Means], planned: Mapping[UUID, PlannedCover]
) -> dict[bool, dict[UUID, UUID]]:
    """Return, by night (True) and day, the spot of each tree that suffices against all it meets; the plan's goes first."""
    joint = {
        night: _joint([means for hazard, means in of_hazard.items() if (hazard in NIGHTLY) == night])
        for night in (False, True)
    }
    joint[True] |= {
        tree: cover.spot
        for tree, cover in planned.items()
        if all(means.spares(tree, cover.spot) for hazard, means in of_hazard.items() if hazard in NIGHTLY)
    }
    return joint


def _joint(all_means: Sequence[Means]) -> dict[UUID, UUID]:
    """Return the spot that suffices against all hazards of a tree and changes least, for trees that have several."""
    met: defaultdict[UUID, list[Means]] = defaultdict(list)
    for means in all_means:
        for tree in means.safe_spots:
            met[tree].append(means)
    out = {}
    for tree, several in met.items():
        spots = frozenset.intersection(*(means.safe_spots[tree] for means in several))
        candidate = several[0].least(tree, spots) if len(several) > 1 else None
        if candidate is not None:
            out[tree] = candidate.spot.id
    return out


def _around(hours: Hours, place: Place, day: date) -> Hours:
    """Return the hours of a day and of the one before, from which pots and nights begin."""
    begin, end = (datetime.combine(day + timedelta(days=n), time(), place.zone) for n in (-1, 1))
    return hours.part(begin, end)


def _shared(pieces: Iterable[Advice]) -> tuple[Advice, ...]:
    """Return advice with the trees that share it together; ``here`` and ``there`` are those of the worst off."""
    groups: defaultdict[Advice, list[Advice]] = defaultdict(list)
    for piece in pieces:
        groups[replace(piece, trees=(), here=0.0, there=0.0, light_mol=None)].append(piece)
    out = []
    for members in groups.values():
        sign = falling(members[0].hazard)
        worst_here = max(members, key=lambda member: sign * member.here)
        worst_there = max(members, key=lambda member: sign * member.there)
        trees = tuple(tree for member in members for tree in member.trees)
        out.append(replace(worst_here, trees=trees, there=worst_there.there))
    return tuple(out)


class _Hours:
    """Adds the hours to advice."""

    def __init__(
        self,
        means: Means,
        spots: Sequence[Spot],
        by_tree: Mapping[tuple[Hazard, UUID], Sequence[Threat]],
        now: datetime,
        covers: Mapping[UUID, PlannedCover],
    ) -> None:
        self.means, self.spots, self.by_tree, self.now, self.covers = means, spots, by_tree, now, covers

    def timed(self, advice: Advice, threat: Threat, met: Sequence[Threat], stand: Stand) -> Advice:
        """Return advice with its hours, and with the steps back where the tree got used to shade.

        ``met`` are the threats of that day that the same move meets: it is made in time for the first of them.
        """
        zone = self.means.weighing.place.zone
        pause = PAUSE if advice.do == "move" else timedelta(0)
        until = max(until_when(each, self.by_tree[each.hazard, each.tree], pause) for each in met)
        until = until.astimezone(zone)
        timed = replace(advice, by=min(by_when(each, advice.do, self.now, zone) for each in met), until=until)
        if advice.do != "move":
            return timed
        cover = self.covers.get(threat.tree)
        stays = _stays(
            threat, stand, for_winter=cover is not None and cover.stays and cover.spot == advice.to
        )
        if stays is not None and advice.why == "below the line":
            return replace(timed, why=stays)
        return replace(timed, back=self._back(advice, stand, threat.day, until))

    def _back(
        self, advice: Advice, stand: Stand, day: date, until: datetime
    ) -> tuple[tuple[date, UUID], ...]:
        if advice.to is None or self.means.hazard not in LIT:
            return ()
        outside = [
            spot for spot in open_to(stand, self.spots) if spot.profile == "open" or spot.id == advice.to
        ]
        spots = {stand.spot.id, *(spot.id for spot in outside)}
        light = {spot: mol for spot, mol in self.means.light_mol.items() if spot in spots}
        shaded = (until.date() - day).days + 1
        steps = way_back(stand.spot.id, advice.to, shaded, light, self.means.weighing.rules.light)
        return tuple((until.date() + timedelta(days=1 + later), spot) for later, spot in steps)


def _stays(threat: Threat, stand: Stand, *, for_winter: bool) -> Why | None:
    """Return why a tree that was moved is not to come back as soon as it is over, None where it may."""
    if threat.hazard in NIGHTLY:
        return "stays in" if for_winter or not stands_frost(stand) else None
    tender = {"fresh roots", "opened up"}.intersection(threat.reasons)
    return "stays shaded" if tender and threat.hazard in LIT else None
