"""What trees would meet at other spots, for whoever looks for shelter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from alerts.hazards.block import blocks, worst
from alerts.hazards.place import weather_at

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from numpy.typing import NDArray

    from alerts.air.hours import Hours, Place
    from alerts.hazards.course import Course
    from alerts.hazards.stand import Stand
    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.forms.exposure import Exposure
    from calendar_core.knowledge.words import Hazard

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Peaks:
    """Worst moments of days as in `Threat`, and its lines: (n_stands, n_spots, n_days), in the unit of the hazard.

    ``danger_chance`` is the share of courses that reach the line of danger.
    ``light_mol`` (n_spots, n_days) is the middle course's daily light [mol m-2 d-1], ``nan`` on a day that is
    nothing but its night.
    """

    days: tuple[date, ...]
    typical: Floats
    bad: Floats
    caution: Floats
    danger: Floats
    danger_chance: Floats
    light_mol: Floats


def peaks(
    stands: Sequence[Stand],
    spots: Sequence[Spot],
    hours: Hours,
    place: Place,
    rules: Exposure,
    hazard: Hazard,
) -> Peaks:
    """Return what trees meet if they stand at each of some spots from the first hour on.

    To ask for single days, give their hours with those of a day before: `Hours.part`. Lines that a tree has not are
    infinitely far.
    """
    by_spot = weather_at(spots, hours, place, rules)
    weather = [by_spot[spot] for spot in spots]
    first = weather[0].clock
    days, found = first.days, []
    for at in weather:
        courses = [block.course(hazard) for block in blocks(stands, at)]
        days = courses[0].days.days
        found.append(np.concatenate([_rows(course) for course in courses], axis=1))
    typical, bad, caution, danger, chance = np.stack(found, axis=2)
    by_date = [dict(zip(first.days, np.median(at.daily_mol, axis=0), strict=True)) for at in weather]
    light = np.array([[of.get(day, np.nan) for day in days] for of in by_date])
    return Peaks(days, typical, bad, caution, danger, chance, light)


def _rows(course: Course) -> Floats:
    """Return typical, bad, the lines and the chance of danger, (5, n_stands, n_days)."""
    found = worst(course)
    lines = np.broadcast_to(course.lines, (*found.bad.shape, 2))
    return np.stack([found.typical, found.bad, lines[..., 0], lines[..., 1], found.chances[..., 1]])
