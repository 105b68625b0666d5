"""The coming hours at each spot: what the tree there that is most at risk meets, against its lines."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING
from uuid import UUID

import numpy as np

from alerts.hazards.block import Block, blocks, worst
from alerts.hazards.place import lengths, weather_at
from calendar_core.app.warnings.standing_trees import stands_of
from calendar_core.science.year.daylight import solar_noon, sun_times

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from datetime import datetime

    from numpy.typing import NDArray

    from alerts.air.hours import Place, Span
    from alerts.hazards.course import Course
    from alerts.hazards.place import Weather
    from alerts.hazards.stand import Stand
    from calendar_core.app.shell.session import Session
    from calendar_core.app.warnings.judging import Foreseen
    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.words import Hazard

    Floats = NDArray[np.float64]
    Values = tuple[float, ...]

SHOWN: tuple[Hazard, ...] = ("heat", "frost", "hot roots", "cold roots")
"""The hazards that are temperatures."""
HALF_HOUR, HALF_DAY, MINUTE = timedelta(minutes=30), timedelta(hours=12), timedelta(minutes=1)
_ANY_TREE = UUID(int=0)


@dataclass(frozen=True, slots=True)
class HazardHours:
    """What the tree most at risk meets of a hazard hour by hour [degC], NaN where nothing is known.

    ``likely`` is the middle of the courses the weather may take, ``bad`` the one of ten that is worst, by which warnings
    are judged. ``trees`` are those like it, ``caution`` and ``danger`` their lines, infinitely far where nothing can be harmed;
    ``harm`` are the hours beyond the line of caution in the bad course. ``there`` is the bad course at a shelter.
    """

    hazard: Hazard
    trees: tuple[UUID, ...]
    likely: Values
    bad: Values
    caution: float
    danger: float
    reasons: tuple[str, ...]
    harm: tuple[tuple[datetime, datetime], ...]
    there: Values = ()

    @property
    def falling(self) -> bool:
        """Whether cold does the harm."""
        return self.hazard in ("frost", "cold roots")

    @property
    def margin(self) -> float:
        """How far the worst moment stays from the line of caution [degC], negative beyond it."""
        known = [value for value in self.bad if np.isfinite(value)]
        if not known or not np.isfinite(self.caution):
            return float("inf")
        return min(known) - self.caution if self.falling else self.caution - max(known)


@dataclass(frozen=True, slots=True)
class SpotHours:
    """The hours at a spot: ``air_c`` is the middle course of its air, ``hazards`` those that can be met there.

    ``watered_h`` are the hours of the clock at which its pots are taken to be watered.
    """

    spot: Spot
    trees: tuple[UUID, ...]
    air_c: Values
    hazards: Mapping[Hazard, HazardHours]
    watered_h: tuple[float, ...] = ()

    @property
    def worst(self) -> HazardHours | None:
        """The hazard that comes nearest to its line, None where there is none."""
        return min(self.hazards.values(), key=lambda hazard: hazard.margin, default=None)


@dataclass(frozen=True, slots=True)
class HoursAhead:
    """The hours from one moment to another, by spot; ``at`` are their middles by the garden's clock.

    ``nights`` are those of the hours and of half a day before and after.
    """

    at: tuple[datetime, ...]
    nights: tuple[tuple[datetime, datetime], ...]
    spots: tuple[SpotHours, ...]


@dataclass(frozen=True, eq=False)
class _Window:
    """The hours that are asked for: their middles by the garden's clock, and which of all they are."""

    at: tuple[datetime, ...]
    seen: NDArray[np.bool_]
    shelter: Spot | None


def hours_ahead(
    session: Session,
    found: Foreseen,
    spans: Sequence[Span],
    trees: Collection[UUID] | None = None,
    shelter: Spot | None = None,
) -> tuple[HoursAhead, ...]:
    """Return the hours of each span at the spots where trees stand, the most endangered first.

    Only some ``trees`` may be asked for. ``there`` is told for ``shelter``, or else for the cloth that trees in the sun
    are given.
    """
    hours, place = found.hours, found.place
    windows = [_window(found, span, shelter) for span in spans]
    by_spot: defaultdict[Spot, list[Stand]] = defaultdict(list)
    for stand in stands_of(session, hours, place).values():
        if trees is None or stand.tree in trees:
            by_spot[stand.spot].append(stand)
    weather = weather_at(by_spot, hours, place, session.knowledge.exposure)
    of_spots = [_spot_hours(weather[spot], some, windows) for spot, some in by_spot.items()]
    return tuple(
        HoursAhead(
            window.at,
            nights(place, (span[0] - HALF_DAY, span[1] + HALF_DAY)),
            tuple(sorted((of_spot[n] for of_spot in of_spots), key=_nearest_first)),
        )
        for n, (window, span) in enumerate(zip(windows, spans, strict=True))
    )


def nights(place: Place, span: Span) -> tuple[Span, ...]:
    """Return from when to when the sun is down within a span: nowhere in polar day, throughout in polar night."""
    dark, begins, days = [], span[0], (span[1] - span[0]).days + 3
    for day in (span[0].astimezone(place.zone).date() + timedelta(days=n) for n in range(-1, days)):
        sun = sun_times(place.latitude, place.longitude, day, place.zone)
        if sun.length_h <= 0.0:
            continue
        noon = solar_noon(place.longitude, day, place.zone)
        rises, sets = sun.rise or noon - HALF_DAY, sun.set or noon + HALF_DAY
        dark.append((begins, min(rises, span[1])))
        begins = max(begins, sets)
    return tuple((first, last) for first, last in (*dark, (begins, span[1])) if first + MINUTE < last)


def _window(found: Foreseen, span: Span, shelter: Spot | None) -> _Window:
    starts = [found.hours.at(n) for n in range(len(found.hours))]
    seen = np.array([span[0] <= start < span[1] for start in starts])
    middles = (start + HALF_HOUR for start, shown in zip(starts, seen, strict=True) if shown)
    return _Window(tuple(middle.astimezone(found.place.zone) for middle in middles), seen, shelter)


def _nearest_first(spot: SpotHours) -> tuple[float, str]:
    return spot.worst.margin if spot.worst else np.inf, spot.spot.name


def _spot_hours(at: Weather, stands: Sequence[Stand], windows: Sequence[_Window]) -> list[SpotHours]:
    """Return the hours of each window at a spot, of each hazard those of the tree that comes nearest to harm."""
    alike: defaultdict[Stand, list[UUID]] = defaultdict(list)
    for stand in stands:
        alike[replace(stand, tree=_ANY_TREE)].append(stand.tree)
    nearest: list[dict[Hazard, HazardHours]] = [{} for _ in windows]
    for block in blocks(list(alike), at):
        for course in map(block.course, SHOWN):
            for window, found in zip(windows, nearest, strict=True):
                one, known = _of_block(block, course, alike, window), found.get(course.hazard)
                if np.isfinite(one.margin) and (known is None or one.margin < known.margin):
                    found[course.hazard] = one
    air = np.where(at.hours.known[0], np.median(at.t_c, axis=0), np.nan)
    every = tuple(stand.tree for stand in stands)
    watered = tuple(sorted({hour for stand in stands for hour in stand.watered_h}))
    return [
        SpotHours(at.spot, every, tuple(air[window.seen].tolist()), found, watered)
        for window, found in zip(windows, nearest, strict=True)
    ]


def _of_block(
    block: Block, course: Course, alike: Mapping[Stand, Sequence[UUID]], window: _Window
) -> HazardHours:
    """Return the hours of the tree of a block that comes nearest to harm."""
    seen, found, sign = window.seen, worst(course), -1.0 if course.falling else 1.0
    of_days = lengths(course.days, course.values.shape[-1])
    lines = np.repeat(np.broadcast_to(course.lines, (*found.bad.shape, 2)), of_days, axis=1)
    member = np.repeat(found.member, of_days, axis=-1)
    bad = np.stack([_path(course, i, member[i]) for i in range(len(member))])
    near = sign * (lines[..., 0] - bad)
    i = int(np.where(seen & np.isfinite(near), near, np.inf).min(axis=-1, initial=np.inf).argmin())
    stand = block.stands[i]
    caution, danger = (sign * (sign * lines[i, seen, k]).min(initial=np.inf) for k in (0, 1))
    values = course.values[min(i, len(course.values) - 1)]
    return HazardHours(
        course.hazard,
        tuple(alike[stand]),
        _known(np.median(values, axis=0)[seen]),
        _known(bad[i, seen]),
        float(caution),
        float(danger),
        max(course.reasons[i], key=len),
        _spans(window.at, near[i, seen] <= 0.0),
        _sheltered(stand, block.at, course.hazard, member[i], window),
    )


def _sheltered(
    stand: Stand, at: Weather, hazard: Hazard, member: NDArray[np.intp], window: _Window
) -> Values:
    """Return what a tree would meet at the shelter, or under its cloth where it is the sun that harms; else nothing."""
    spot, cloth = window.shelter, round(stand.cloth_percent)
    if spot is None and hazard == "heat" and at.spot.profile == "open" and cloth > at.spot.cloth_percent:
        spot = replace(at.spot, cloth_percent=cloth)
    if spot is None:
        return ()
    there = weather_at([spot], at.hours, at.place, at.rules)[spot]
    course = Block([replace(stand, spot=spot)], there).course(hazard)
    return _known(_path(course, 0, member)[window.seen])


def _path(course: Course, stand: int, member: NDArray[np.intp]) -> Floats:
    """Return what a tree meets if each day takes a course of its own, (n_hours,)."""
    values = course.values[min(stand, len(course.values) - 1)]
    hour = np.arange(values.shape[-1])
    return np.asarray(values[np.minimum(member, len(values) - 1), hour])


def _known(values: Floats) -> Values:
    """Return numbers, NaN where an hour is not known: there harm was put infinitely far."""
    return tuple(np.where(np.isfinite(values), values, np.nan).tolist())


def _spans(at: Sequence[datetime], held: NDArray[np.bool_]) -> tuple[tuple[datetime, datetime], ...]:
    """Return from when to when something holds, as whole hours about their middles."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], held, [False]]).astype(int))).tolist()
    return tuple(
        (at[first] - HALF_HOUR, at[end - 1] + HALF_HOUR)
        for first, end in zip(edges[::2], edges[1::2], strict=True)
    )
