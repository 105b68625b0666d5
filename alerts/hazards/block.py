"""Trees at one spot worked together, and the worst moments of their days."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from alerts.hazards.course import middle_and_bad
from alerts.hazards.drying import drying, used_share
from alerts.hazards.frost import frost
from alerts.hazards.leaf_heat import heat, leaf_c
from alerts.hazards.place import lengths
from alerts.hazards.roots import balls, cold_roots, hot_roots
from alerts.hazards.sunburn import sunburn
from alerts.hazards.wind import hail, wind

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from alerts.hazards.course import Course
    from alerts.hazards.place import Weather
    from alerts.hazards.stand import Stand
    from calendar_core.knowledge.words import Hazard
    from calendar_core.science.hour.container import Ball

    Floats = NDArray[np.float64]

BLOCK = 20  # trees worked at once: their hours and members fit the processor's cache


@dataclass(frozen=True, eq=False)
class Block:
    """Trees at one spot; what several hazards need of them is worked once."""

    stands: Sequence[Stand]
    at: Weather

    @cached_property
    def used(self) -> Floats:
        """As `used_share`."""
        return used_share(self.stands, self.at)

    @cached_property
    def leaf(self) -> Floats:
        """As `leaf_c`."""
        return leaf_c(self.stands, self.at, self.used)

    @cached_property
    def ball(self) -> Ball:
        """As `balls`."""
        return balls(self.stands, self.at)

    @cached_property
    def more_light(self) -> NDArray[np.bool_]:
        """Days on which the middle course brings more light than trees are used to, (n_stands, n_days)."""
        if all(stand.used_to_mol is None for stand in self.stands):
            return np.zeros((len(self.stands), 1), dtype=np.bool_)
        course = sunburn(self.stands, self.at)
        return worst(course).typical >= course.lines[..., 0]

    def course(self, hazard: Hazard) -> Course:
        """Return the courses of a hazard; in hours of which nothing is known nothing threatens."""
        return self._course(hazard).only(self.at.hours.known)

    def _course(self, hazard: Hazard) -> Course:
        trees = self.stands, self.at
        match hazard:
            case "heat":
                return heat(*trees, self.leaf, self.more_light)
            case "frost":
                return frost(*trees, self.leaf)
            case "drying":
                return drying(*trees, self.used)
            case "hot roots":
                return hot_roots(*trees, self.ball)
            case "cold roots":
                return cold_roots(*trees, self.ball)
            case "sunburn":
                return sunburn(*trees)
            case "wind":
                return wind(*trees)
            case "hail":
                return hail(*trees)


@dataclass(frozen=True, slots=True, eq=False)
class Worst:
    """The worst moments of days in the middle and the bad course, (n_stands, n_days); ``member`` is the bad one.

    ``chances`` (n_stands, n_days, 2) are the shares of courses that reach the lines. ``deep`` (n_stands, n_days) is the
    middle course's worst moment of what the line of danger is held against, ``nan`` where that is as the others.
    """

    typical: Floats
    bad: Floats
    member: NDArray[np.intp]
    chances: Floats
    deep: Floats


def worst(course: Course) -> Worst:
    """Return the worst moments of each day; each day has its own middle and bad course."""
    sign = -1.0 if course.falling else 1.0
    by_day = _by_day(course, course.values)
    by_day_deep = np.full_like(by_day, np.nan) if course.deep is None else _by_day(course, course.deep)
    order = np.argsort(by_day, axis=1, kind="stable")
    middle, bad = (order[:, rank] for rank in middle_and_bad(by_day.shape[1]))
    typical_value, bad_value = (
        np.take_along_axis(by_day, member[:, None], axis=1)[:, 0] for member in (middle, bad)
    )
    lines = sign * course.lines[:, None]
    to_danger = np.where(np.isnan(by_day_deep), by_day, by_day_deep)
    reached = [by_day >= lines[..., 0], to_danger >= lines[..., 1]]
    deep = np.sort(by_day_deep, axis=1)[:, middle_and_bad(by_day.shape[1])[0]]
    chances = np.stack([of.mean(axis=1) for of in reached], axis=-1)
    return Worst(sign * typical_value, sign * bad_value, bad, chances, sign * deep)


def _by_day(course: Course, values: Floats) -> Floats:
    """Return the worst of each day, the worse the higher, (n_stands, n_members, n_days)."""
    sign = -1.0 if course.falling else 1.0
    by_day = np.maximum.reduceat(sign * values, course.days.first, axis=-1)
    return np.broadcast_to(by_day, (len(course.lines), *by_day.shape[1:]))


def beyond(course: Course, found: Worst) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the first and the last hour of each day beyond the line of caution in the bad course.

    Both are (n_stands, n_days); where the line is not reached, they are its worst hour.
    """
    sign = -1.0 if course.falling else 1.0
    days = lengths(course.days, course.values.shape[-1])
    least = np.minimum(sign * course.lines[..., 0], sign * found.bad)
    member = np.repeat(found.member, days, axis=-1)[:, None]
    values = np.broadcast_to(course.values, (len(member), *course.values.shape[1:]))
    bad = sign * np.take_along_axis(values, member, axis=1)[:, 0]
    passes, hour = bad >= np.repeat(least, days, axis=-1), np.arange(bad.shape[-1])
    first = np.minimum.reduceat(np.where(passes, hour, len(hour)), course.days.first, axis=-1)
    last = np.maximum.reduceat(np.where(passes, hour, -1), course.days.first, axis=-1)
    return first, last


def blocks(stands: Sequence[Stand], at: Weather) -> Iterator[Block]:
    """Yield the trees in blocks that are quickly worked."""
    for start in range(0, len(stands), BLOCK):
        yield Block(stands[start : start + BLOCK], at)
