"""Judging: which tree is threatened by what on which day."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from math import isnan
from typing import TYPE_CHECKING
from uuid import UUID

import numpy as np

from alerts.hazards.block import beyond, blocks, worst
from alerts.hazards.place import weather_at
from alerts.threats import Threat
from calendar_core.knowledge.words import HAZARDS, Hazard

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from alerts.air.hours import Hours, Place
    from alerts.hazards.course import Course
    from alerts.hazards.stand import Stand
    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.forms.exposure import Exposure

ROOTS: tuple[Hazard, ...] = ("hot roots", "cold roots")
_ANY_TREE = UUID(int=0)


def judge(stands: Iterable[Stand], hours: Hours, place: Place, rules: Exposure) -> tuple[Threat, ...]:
    """Return what threatens which tree on which of the garden's days, ordered by day, hazard and tree.

    There is one threat for a tree, hazard and day where at least one course in ten reaches the line of caution, or
    the middle course comes as near to it as ``rules.near`` says: whoever warns can then let a warning stand while
    the forecast flickers about the line. Where no line is reached, ``begins`` and ``ends`` bound the worst hour.
    Nights belong to the day of their morning. Days that have begun are judged by the hours that are given, from
    the garden's midnight if they can be.

    Source: the formulas are those of `calendar_core.science`, the lines those of profiles and config/exposure.toml.
    """
    if not len(hours):
        return ()
    trees: defaultdict[Stand, list[UUID]] = defaultdict(list)
    for stand in sorted(stands, key=lambda stand: stand.tree):
        trees[replace(stand, tree=_ANY_TREE)].append(stand.tree)
    alike: defaultdict[tuple[Spot, tuple[Hazard, ...]], list[Stand]] = defaultdict(list)
    for case in trees:
        for hazards in _possible(case):
            alike[case.spot, hazards].append(case)
    found: list[Threat] = []
    weather = weather_at({spot for spot, _ in alike}, hours, place, rules)
    for (spot, hazards), cases in alike.items():
        like_sized = sorted(cases, key=lambda case: case.pot.litres)  # small pots need smaller steps
        for block in blocks(like_sized, weather[spot]):
            for hazard in hazards:
                found += _threats(block.course(hazard), hours, [trees[case] for case in block.stands])
    return tuple(
        sorted(found, key=lambda threat: (threat.day, HAZARDS.index(threat.hazard), threat.tree.int))
    )


def _possible(stand: Stand) -> tuple[tuple[Hazard, ...], tuple[Hazard, ...]]:
    """Return the hazards that a tree can meet as it is: those of its roots, which all have, and others."""
    lacks: dict[Hazard, bool] = {
        "heat": stand.heat is None,
        "frost": stand.frost is None,
        "sunburn": stand.used_to_mol is None,
    }
    return ROOTS, tuple(hazard for hazard in HAZARDS if not (hazard in ROOTS or lacks.get(hazard)))


def _threats(course: Course, hours: Hours, trees: Sequence[Sequence[UUID]]) -> Iterator[Threat]:
    found = worst(course)
    caution, danger = (np.broadcast_to(course.lines[..., k], found.bad.shape) for k in (0, 1))
    sign = -1.0 if course.falling else 1.0
    told = (sign * found.bad >= sign * caution) | (sign * found.typical >= sign * caution - course.near)
    first, last = (bound.tolist() for bound in beyond(course, found))
    moments = np.stack([found.typical, found.bad, caution, danger], axis=-1).tolist()
    chances, deep = found.chances.tolist(), found.deep.tolist()
    for i, day in np.argwhere(told).tolist():
        begins, ends = hours.at(first[i][day]), hours.at(last[i][day] + 1)
        middle, bad, to_caution, to_danger = moments[i][day]
        reasons = course.reasons[i][day if len(course.reasons[i]) > 1 else 0]
        for tree in trees[i]:
            yield Threat(
                tree,
                course.hazard,
                course.days.days[day],
                begins,
                ends,
                middle,
                bad,
                to_caution,
                to_danger,
                (chances[i][day][0], chances[i][day][1]),
                reasons,
                None if isnan(deep[i][day]) else deep[i][day],
            )
