"""What was measured of a part over time, and what that foretells."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.publishing.pictures.drawing import Box, Drawing, Scale
from calendar_core.publishing.pictures.labels import Label, Sample, in_rows, stand_at, under_axis
from calendar_core.publishing.pictures.letters import width_of
from calendar_core.publishing.pictures.panel import BAND, SCALE, draw_scale, upward

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from calendar_core.publishing.pictures.drawing import Point

PLOT = 120.0
LEAST = 0.5  # between the ends of the scale, in its unit: less is not measured
MARGIN = 8.0  # so that dots at the ends are whole
DASHES = ("", "6 4", "2 4", "9 3 2 3")


@dataclass(frozen=True, slots=True)
class Measured:
    """Values by their days, the oldest first; ``last`` is the newest in words."""

    name: str
    values: tuple[tuple[date, float], ...]
    last: str = ""


@dataclass(frozen=True, slots=True)
class Forecast:
    """When a value is reached: likely on a day, eight times in ten from an early to a late one."""

    value: float
    early: date
    likely: date
    late: date


@dataclass(frozen=True, slots=True)
class MeasurePicture:
    """What was measured of a part.

    ``forecast`` is drawn from the newest value of the first course. ``wanted`` is a value to be reached, with its words;
    ``days`` are those named under the axis. ``said`` is the picture in a sentence.
    """

    said: str
    courses: tuple[Measured, ...]
    today: date
    unit: str = ""
    forecast: Forecast | None = None
    wanted: tuple[float, str] | None = None
    days: tuple[tuple[date, str], ...] = ()

    def __post_init__(self) -> None:
        if not any(course.values for course in self.courses):
            raise ValueError("nothing was measured; right would be at least one value")


def measure_picture(picture: MeasurePicture) -> str:
    """Return the picture as SVG."""
    drawing = Drawing(picture.said)
    across, up = _scales(picture, drawing.width)
    draw_scale(drawing, up, SCALE, drawing.width, picture.unit)
    curves = [
        [(across.at(day.toordinal()), up.at(value)) for day, value in course.values]
        for course in picture.courses
    ]
    if picture.forecast is not None and curves[0]:
        _foretell(drawing, picture.forecast, curves[0][-1], across, up)
    if picture.wanted is not None:
        y = up.at(picture.wanted[0])
        drawing.line([(SCALE, y), (drawing.width, y)], dashes="2 4", width=1.4)
    for points, dashes in zip(curves, DASHES, strict=False):
        drawing.line(points, width=2.0, dashes=dashes)
        for point in points:
            drawing.dot(*point, hollow=bool(dashes))
    today = across.at(picture.today.toordinal())
    drawing.line([(today, 4.0), (today, PLOT)], "accent", 2.0)
    beneath = _named(drawing, picture, curves, up)
    labels = [Label(across.at(day.toordinal()), (words,)) for day, words in picture.days]
    for label in labels:
        drawing.line([(label.x, PLOT), (label.x, PLOT + 6)], "quiet")
    drawing.height = in_rows(drawing, beneath, under_axis(drawing, labels, PLOT + 6, "quiet")) + 2
    return drawing.svg()


def _scales(picture: MeasurePicture, width: float) -> tuple[Scale, Scale]:
    days = [day.toordinal() for course in picture.courses for day, _ in course.values]
    values = [value for course in picture.courses for _, value in course.values]
    days += [picture.today.toordinal(), *(day.toordinal() for day, _ in picture.days)]
    if picture.forecast is not None:
        days += [picture.forecast.early.toordinal(), picture.forecast.late.toordinal()]
        values.append(picture.forecast.value)
    if picture.wanted is not None:
        values.append(picture.wanted[0])
    least = max(LEAST, 0.1 * max(map(abs, values)))
    across = Scale(min(days), max(*days, min(days) + 1), SCALE + MARGIN, width - MARGIN)
    return across, upward(values, 32.0, PLOT - 10, least=least)


def _foretell(drawing: Drawing, forecast: Forecast, last: Point, across: Scale, up: Scale) -> None:
    """Draw from the newest value to when another is reached, as wide as that is unsure."""
    y = up.at(forecast.value)
    early, likely, late = (
        across.at(day.toordinal()) for day in (forecast.early, forecast.likely, forecast.late)
    )
    drawing.area([last, (early, y), (late, y)], BAND)
    drawing.line([last, (likely, y)], width=1.4, dashes="5 3")
    drawing.line([(early, y), (late, y)], width=3.0)


def _named(
    drawing: Drawing, picture: MeasurePicture, curves: list[list[Point]], up: Scale
) -> Iterator[Sample]:
    """Label the newest value and what is wanted; give what found no room, and several courses by name."""
    field, points = Box(SCALE, 0.0, drawing.width, PLOT), [point for curve in curves for point in curve]
    several = sum(map(bool, curves)) > 1
    for course, curve, dashes in zip(picture.courses, curves, DASHES, strict=False):
        if not curve or not course.last:
            continue
        x, y = curve[-1]
        half = width_of(course.last, bold=True) / 2
        places = [(x + dx, y + dy) for dy in (-9.0, 20.0) for dx in (0.0, -half - 6, half + 6)]
        # Of several the newest values lie near each other: they are told with the names.
        if several or not stand_at(drawing, course.last, places, field, points, bold=True):
            yield Sample(f"{course.name}, {course.last}", dashes)
    if picture.wanted is not None:
        value, words = picture.wanted
        half = width_of(words) / 2
        places = [
            (x, up.at(value) + dy)
            for dy in (-6.0, 16.0)
            for x in (drawing.width - half, drawing.width / 2, half)
        ]
        if not stand_at(drawing, words, places, field, points):
            yield Sample(words, "2 4")
