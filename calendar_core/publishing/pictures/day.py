"""The strip of a day or a night: temperatures hour by hour against the line of harm, and what is to be done when."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import isfinite
from typing import TYPE_CHECKING

from calendar_core.publishing.pictures.drawing import Box, Drawing, Scale, along
from calendar_core.publishing.pictures.labels import Label, Sample, in_rows, stand_at, under_axis
from calendar_core.publishing.pictures.letters import width_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from calendar_core.publishing.pictures.drawing import Ink, Point

PLOT = 148.0  # height of the field of curves, in the proportion of the sketch
AIR = 26.0  # free above and below the curves, for their labels
TWILIGHT = 0.09  # the part of the width over which night comes in (by eye)
NIGHT, GROUND = 0.22, 0.07  # how dark (by eye: text on both keeps a contrast of 7 to 1)
LEAST_C = 6.0  # between the lowest and the highest of the field, so that a flat day is drawn flat
TICK = 7.0
DASHES, LINE = ("", "6 4", "9 3 2 3"), "2 4"


@dataclass(frozen=True, slots=True)
class Course:
    """Temperatures [degC] at moments; NaN where nothing is known. ``label`` stands at the worst of them."""

    at: tuple[datetime, ...]
    values: tuple[float, ...]
    label: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """What is to be done by a moment: ``hour`` and ``words`` stand under the axis."""

    at: datetime
    hour: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of harm [degC]."""

    value: float
    label: str = ""


@dataclass(frozen=True, slots=True)
class DayPicture:
    """A day or night from ``begins`` to ``ends``.

    ``courses`` are three at most, told apart by their dashes; ``harm`` are the hours that are hatched, ``nights``
    those in which the sun is down, ``marks`` what is to be done, ``hours`` what the axis is labelled with. ``falling``
    tells that cold does the harm. All moments are aware; ``said`` is the picture in a sentence.
    """

    said: str
    begins: datetime
    ends: datetime
    courses: tuple[Course, ...]
    lines: tuple[Line, ...] = ()
    harm: tuple[tuple[datetime, datetime], ...] = ()
    nights: tuple[tuple[datetime, datetime], ...] = ()
    marks: tuple[Mark, ...] = ()
    hours: tuple[Mark, ...] = ()
    now: datetime | None = None
    falling: bool = False

    def __post_init__(self) -> None:
        if self.ends <= self.begins:
            raise ValueError(f"a picture ends at {self.ends}; right would be after its begin, {self.begins}")
        for course in self.courses:
            if len(course.at) != len(course.values):
                raise ValueError(f"{course.label}: {len(course.values)} values at {len(course.at)} moments")


def day_strip(picture: DayPicture) -> str:
    """Return the strip as SVG."""
    drawing = Drawing(picture.said)
    across = Scale(picture.begins.timestamp(), picture.ends.timestamp(), 0.0, drawing.width)
    field = Box(0.0, 0.0, drawing.width, PLOT)
    up = _degrees(picture)
    _ground(drawing, picture, across)
    for begin, end in picture.harm:
        drawing.hatched(_span(across, begin, end))
    for line in picture.lines:
        drawing.line([(0.0, up.at(line.value)), (drawing.width, up.at(line.value))], dashes=LINE, width=1.4)
    curves = [_points(picture, course, across, up) for course in picture.courses]
    for points, dashes in zip(curves, DASHES, strict=False):
        drawing.line(points, width=1.8 if dashes else 2.6, dashes=dashes)
    if picture.now is not None and picture.begins <= picture.now <= picture.ends:
        now = across.at(picture.now.timestamp())
        drawing.line([(now, 0.0), (now, PLOT)], "accent", 2.0)
    beneath = _named(drawing, picture, curves, up, field)
    drawing.height = in_rows(drawing, beneath, _under(drawing, picture, across)) + 2
    return drawing.svg()


def _degrees(picture: DayPicture) -> Scale:
    """Return the scale of temperatures, upward."""
    seen = [value for course in picture.courses for value in course.values if isfinite(value)]
    seen += [line.value for line in picture.lines]
    low, high = min(seen, default=0.0), max(seen, default=0.0)
    spare = max(LEAST_C - (high - low), 0.0) / 2
    return Scale(low - spare, high + spare, PLOT - AIR, AIR)


def _ground(drawing: Drawing, picture: DayPicture, across: Scale) -> None:
    """Draw the ground, dark in the night; dawn and dusk come softly, within the day."""
    drawing.block(Box(0.0, 0.0, drawing.width, PLOT), GROUND, "quiet")
    wide = TWILIGHT * drawing.width
    for begin, end in picture.nights:
        night = _span(across, begin, end)
        drawing.block(night, NIGHT, "night")
        if picture.begins <= end < picture.ends:
            dawn = Box(night.right, 0.0, min(night.right + wide, drawing.width), PLOT)
            drawing.soft(dawn, [(dawn.left, NIGHT), (dawn.right, 0.0)], "night")
        if picture.begins < begin <= picture.ends:
            dusk = Box(max(night.left - wide, 0.0), 0.0, night.left, PLOT)
            drawing.soft(dusk, [(dusk.left, 0.0), (dusk.right, NIGHT)], "night")


def _span(across: Scale, begin: datetime, end: datetime) -> Box:
    return Box(across.within(begin.timestamp()), 0.0, across.within(end.timestamp()), PLOT)


def _points(picture: DayPicture, course: Course, across: Scale, up: Scale) -> list[Point]:
    """Return the points of a course from edge to edge; where it crosses one it is cut there."""
    moments = [moment.timestamp() for moment in course.at]
    begin, end = picture.begins.timestamp(), picture.ends.timestamp()
    known = list(zip(moments, course.values, strict=True))
    inside = [(at, value) for at, value in known if begin < at < end]
    inside += [(edge, value) for edge in (begin, end) if (value := along(known, edge)) is not None]
    return [(across.at(at), up.at(value)) for at, value in sorted(inside)]


def _named(
    drawing: Drawing, picture: DayPicture, curves: Sequence[Sequence[Point]], up: Scale, field: Box
) -> list[Sample]:
    """Label lines and curves; return what found no room there."""
    points = [point for curve in curves for point in _dense(curve)]
    left_out = []
    for course, curve, dashes in zip(picture.courses, curves, DASHES, strict=False):
        known = [point for point in curve if isfinite(point[1])]
        if not course.label or not known:
            continue
        worst = max(known, key=lambda point: point[1] if picture.falling else -point[1])
        places = list(_beside(worst, width_of(course.label, bold=True), below=picture.falling ^ bool(dashes)))
        if not stand_at(drawing, course.label, places, field, points, bold=True):
            left_out.append(Sample(course.label, dashes))
    for line in picture.lines:
        y, half = up.at(line.value), width_of(line.label) / 2
        places = [
            (x, y + shift)
            for shift in ((-6.0, 16.0) if not picture.falling else (16.0, -6.0))
            for x in (half + 4, drawing.width - half - 4, drawing.width / 2)
        ]
        if line.label and not stand_at(drawing, line.label, places, field, points):
            left_out.append(Sample(line.label, LINE))
    return left_out


def _beside(worst: Point, width: float, *, below: bool) -> Iterator[Point]:
    """Give places about the worst of a curve: over and under it, then further away on either side."""
    for away in (0.0, 0.6, -0.6, 1.1, -1.1):
        for shift in (20.0, -9.0) if below else (-9.0, 20.0):
            for more in (0.0, 12.0, 24.0):
                yield worst[0] + away * width, worst[1] + shift + (more if shift > 0 else -more)


def _dense(curve: Sequence[Point]) -> Iterator[Point]:
    """Give points of a curve as near to each other as letters are."""
    for (x, y), (nx, ny) in pairwise(curve):
        steps = max(int(abs(nx - x) // 4), 1)
        if all(map(isfinite, (y, ny))):
            yield from ((x + (nx - x) * k / steps, y + (ny - y) * k / steps) for k in range(steps))


def _under(drawing: Drawing, picture: DayPicture, across: Scale) -> float:
    """Draw ticks and labels of the axis; return where they end."""
    top = PLOT + 2
    rows: list[tuple[tuple[Mark, ...], Ink, float]] = [
        (picture.hours, "quiet", 0.0),
        (picture.marks, "ink", 2.0),
    ]
    for marks, ink, up in rows:
        seen = [mark for mark in marks if picture.begins <= mark.at <= picture.ends]
        labels = []
        for mark in seen:
            x = across.at(mark.at.timestamp())
            drawing.line([(x, PLOT - up), (x, PLOT + TICK)], ink, 1.4)
            labels.append(Label(x, (mark.hour, mark.words) if mark.words else (mark.hour,)))
        top = under_axis(drawing, labels, top + (TICK if labels else 0.0), ink)
    return top
