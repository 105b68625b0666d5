"""The sun of a spot on the arc of the day: heavy where it reaches the trees that stand there."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from calendar_core.publishing.pictures.drawing import Drawing, Scale, along
from calendar_core.publishing.pictures.labels import Label, under_axis

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from calendar_core.publishing.pictures.day import Mark
    from calendar_core.publishing.pictures.drawing import Point

SKY = 112.0  # height of the sky above the horizon
LEAST_DEG = 20.0  # so that a low winter sun is drawn low
SHINE = 0.12


@dataclass(frozen=True, slots=True)
class SunArc:
    """The height of the sun [degrees] at moments of a day, in their order; ``sunny`` is when it reaches the spot.

    ``marks`` are named under the horizon: the sun's rise and set, and the spot's hours. ``said`` is the picture in words.
    """

    said: str
    course: tuple[tuple[datetime, float], ...]
    sunny: tuple[tuple[datetime, datetime], ...]
    marks: tuple[Mark, ...] = ()

    def __post_init__(self) -> None:
        if len(self.course) < 2:
            raise ValueError(f"a day of {len(self.course)} moments; right would be two or more")


def sun_arc(arc: SunArc) -> str:
    """Return the arc as SVG."""
    drawing = Drawing(arc.said)
    course = [(moment.timestamp(), height) for moment, height in arc.course]
    across = Scale(course[0][0], course[-1][0], 0.0, drawing.width)
    up = Scale(0.0, max(LEAST_DEG, *(height for _, height in course)), SKY, 8.0)
    for begin, end in arc.sunny:
        for part in _above(_cut(course, begin.timestamp(), end.timestamp())):
            drawn = _placed(part, across, up)
            drawing.area([(drawn[0][0], SKY), *drawn, (drawn[-1][0], SKY)], SHINE)
            drawing.line(drawn, width=4.0)
    for part in _above(course):
        drawing.line(_placed(part, across, up), width=1.4, dashes="3 4")
    drawing.line([(0.0, SKY), (drawing.width, SKY)], width=1.4)
    labels = []
    for mark in arc.marks:
        x = across.within(mark.at.timestamp())
        drawing.line([(x, SKY - 4), (x, SKY + 6)], width=1.4)
        labels.append(Label(x, (mark.hour, mark.words) if mark.words else (mark.hour,)))
    drawing.height = under_axis(drawing, labels, SKY + 6) + 2
    return drawing.svg()


def _placed(part: Sequence[Point], across: Scale, up: Scale) -> list[Point]:
    return [(across.at(at), up.at(height)) for at, height in part]


def _cut(course: Sequence[Point], begin: float, end: float) -> list[Point]:
    """Return the part of a course between two moments, with a point at each."""
    if end <= begin:
        return []
    inside = [(at, height) for at, height in course if begin < at < end]
    edges = [(edge, height) for edge in (begin, end) if (height := along(course, edge)) is not None]
    return sorted([*inside, *edges])


def _above(course: Sequence[Point]) -> Iterator[list[Point]]:
    """Give the parts of a course above the horizon, from where it rises to where it sets."""
    part: list[Point] = []
    for before, after in pairwise(course):
        if before[1] >= 0:
            part.append(before)
        if (before[1] >= 0) != (after[1] >= 0):
            part.append((before[0] + before[1] / (before[1] - after[1]) * (after[0] - before[0]), 0.0))
            if after[1] < 0:
                yield part
                part = []
    if course and course[-1][1] >= 0:
        part.append(course[-1])
    if len(part) > 1:
        yield part
