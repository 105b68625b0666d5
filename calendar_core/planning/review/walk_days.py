"""Days for walks: how many minutes of each are free, light, and neither freezing nor hot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date, time

    from calendar_core.knowledge.forms.review import ReviewRules

WhyNot = Literal["no time", "dark", "cold", "hot", "short", "moved"]
SATURDAY = 5


@dataclass(frozen=True, slots=True)
class WalkDay:
    """A day with the minutes that a walk may take on it, and where it has none, why; ``sunset`` by the clock."""

    day: date
    minutes: int
    why_not: WhyNot | None = None
    sunset: time | None = None


@dataclass(frozen=True, slots=True)
class Light:
    """Daylight of a day: its minutes, and when the sun sets by the clock, None where it does not on that day."""

    minutes: float
    sunset: time | None


def walk_days(
    days: Sequence[date],
    free: Sequence[int],
    light: Sequence[Light],
    extremes: Sequence[tuple[float, float]],
    moved: Mapping[date, int],
    rules: ReviewRules,
) -> list[WalkDay]:
    """Return the days on which a walk can be, from free minutes, light, and least and most degC of the days forecast.

    ``moved`` are minutes by day that the grower chose: 0 on a day given up. Of the others those that are too short are
    left out where any is long enough.
    """
    found = []
    for place, day in enumerate(days):
        cold_hot = extremes[place] if place < len(extremes) else None
        found.append(_day(day, free[place], light[place], cold_hot, moved.get(day), rules))
    least = rules.minutes.walk_least.value
    if any(day.minutes >= least for day in found):
        found = [
            WalkDay(day.day, 0, "short", day.sunset)
            if 0 < day.minutes < least and day.day not in moved
            else day
            for day in found
        ]
    return found


def _day(
    day: date, free: int, light: Light, extremes: tuple[float, float] | None, chosen: int | None, rules: ReviewRules
) -> WalkDay:  # fmt: skip
    if chosen is not None:
        return WalkDay(day, chosen, None if chosen else "moved", light.sunset)
    if free <= 0:
        return WalkDay(day, 0, "no time", light.sunset)
    if extremes is not None and extremes[0] < rules.weather.cold_below_c.value:
        return WalkDay(day, 0, "cold", light.sunset)
    if extremes is not None and extremes[1] >= rules.weather.hot_from_c.value:
        return WalkDay(day, 0, "hot", light.sunset)
    least, share = rules.minutes.walk_least.value, rules.minutes.walk_share.value
    given = max(free * share, min(free, least))
    minutes = int(min(given, rules.minutes.walk_most.value, _lit(day, free, light, rules)))
    return WalkDay(day, minutes, None if minutes else "dark", light.sunset)


def _lit(day: date, free: int, light: Light, rules: ReviewRules) -> float:
    """Return the minutes of light [min] in a day's free time; of a working day's evening those before sunset."""
    evening = rules.minutes.evening_from_h.value
    if day.weekday() >= SATURDAY or free > rules.minutes.evening_most.value or light.sunset is None:
        return light.minutes
    return max(60 * (light.sunset.hour - evening) + light.sunset.minute, 0.0)
