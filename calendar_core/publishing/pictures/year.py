"""The picture of a year: heat and day length of twelve months against past years, over the strips of stages and work."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING

from calendar_core.publishing.pictures.drawing import DESK, PHONE, Drawing
from calendar_core.publishing.pictures.labels import GAP, LEAD, Sample, in_rows
from calendar_core.publishing.pictures.letters import wrapped
from calendar_core.publishing.pictures.panel import (
    BAND,
    SCALE,
    draw_band,
    draw_curve,
    draw_scale,
    thinned,
    upward,
)
from calendar_core.publishing.pictures.strips import HEIGHT, Days, draw_strip, mark_today, month_names

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from calendar_core.publishing.pictures.strips import Window

HEAT, LIGHT = 170.0, 110.0  # heights of the two fields on a phone
NAMES = 220.0  # room for the names of strips on a desk
USUAL, EDGE = "2 3", "5 3"
Curve = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class YearText:
    """The words on the picture; ``months`` are twelve short names from January on."""

    said: str
    heat: str
    this_year: str
    ahead: str
    past: str
    usual: str
    day_length: str
    today: str
    months: tuple[str, ...]
    hours: str = "h"


@dataclass(frozen=True, slots=True)
class Row:
    """Strips of one name."""

    name: str
    windows: tuple[Window, ...]


@dataclass(frozen=True, slots=True)
class YearPicture:
    """Curves with a value for each day from ``start`` to ``end``, NaN where it is not known.

    ``heat`` is this year's sum up to today; ``ahead`` and ``past`` are the curves of 10, 50 and 90 % of possible and of
    past years, empty where none is known; ``day_length`` is in hours.
    """

    text: YearText
    start: date
    end: date
    today: date
    day_length: Curve
    heat: Curve = ()
    ahead: tuple[Curve, ...] = ()
    past: tuple[Curve, ...] = ()
    rows: tuple[Row, ...] = ()

    def __post_init__(self) -> None:
        days = (self.end - self.start).days + 1
        for curve in (self.day_length, self.heat, *self.ahead, *self.past):
            if curve and len(curve) != days:
                raise ValueError(
                    f"a curve has {len(curve)} values; right would be one for each of {days} days"
                )


def year_picture(picture: YearPicture, *, desk: bool = False) -> str:
    """Return the picture as SVG, for a phone or a desk."""
    drawing = Drawing(picture.text.said, DESK if desk else PHONE)
    days = Days(picture.start, picture.end, NAMES if desk else SCALE, drawing.width)
    top = _heat(drawing, picture, days, 0.0)
    top = _light(drawing, picture, days, top)
    top = month_names(drawing, days, picture.text.months, top)
    for row in picture.rows:
        top = _row(drawing, days, row, picture.today, top)
    drawing.height = top + 2
    return drawing.svg()


def _heat(drawing: Drawing, picture: YearPicture, days: Days, top: float) -> float:
    """Draw the sums of heat over the words that tell them apart; return where they end."""
    text, curves = picture.text, [curve for curve in (picture.heat, *picture.ahead, *picture.past) if curve]
    if not any(isfinite(value) for curve in curves for value in curve):
        return top
    samples = [
        *([Sample(text.this_year)] if picture.heat else []),
        *([Sample(text.ahead, EDGE, BAND)] if picture.ahead else []),
        *([Sample(text.past, area=BAND), Sample(text.usual, dashes=USUAL)] if picture.past else []),
    ]
    beside = 0.0 if days.left < NAMES else days.left - SCALE
    told = in_rows(drawing, samples, _title(drawing, text.heat, top, beside), beside)
    top = top if beside else told
    up = upward((0.0, *(value for curve in curves for value in curve)), top + 22, top + HEAT)
    draw_scale(drawing, up, days.left, days.right)
    shown = thinned(curves)
    places = _places(days, shown)
    if picture.past:
        low, middle, high = ([curve[n] for n in shown] for curve in picture.past)
        draw_band(drawing, places, low, high, up)
        draw_curve(drawing, places, middle, up, 1.4, USUAL)
    if picture.ahead:
        low, middle, high = ([curve[n] for n in shown] for curve in picture.ahead)
        draw_band(drawing, places, low, high, up)
        for curve, dashes in ((low, EDGE), (middle, ""), (high, EDGE)):
            draw_curve(drawing, places, curve, up, 1.0 if dashes else 1.6, dashes)
    if picture.heat:
        draw_curve(drawing, places, [picture.heat[n] for n in shown], up, 2.8)
    mark_today(drawing, days, picture.today, top + 4, top + HEAT)
    return max(top + HEAT, told) + 4


def _light(drawing: Drawing, picture: YearPicture, days: Days, top: float) -> float:
    """Draw day length; return where it ends."""
    beside = 0.0 if days.left < NAMES else days.left - SCALE
    told = _title(drawing, picture.text.day_length, top, beside)
    top = top if beside else told
    up = upward(picture.day_length, top + 24, top + LIGHT - 8, least=2.0)
    draw_scale(drawing, up, days.left, days.right, picture.text.hours)
    shown = thinned([picture.day_length])
    draw_curve(drawing, _places(days, shown), [picture.day_length[n] for n in shown], up, 2.0)
    mark_today(drawing, days, picture.today, top + 4, top + LIGHT)
    drawing.line([(days.left, top + LIGHT), (days.right, top + LIGHT)], "rule")
    return top + LIGHT


def _title(drawing: Drawing, words: str, top: float, width: float) -> float:
    """Set a title across the picture, or so wide beside the field; return where it ends."""
    for line in wrapped(words, width or drawing.width, bold=True):
        top += LEAD
        drawing.text(0.0, top, line, bold=True)
    return top + 4


def _places(days: Days, shown: Sequence[int]) -> list[float]:
    return [days.left + (n + 0.5) * days.wide for n in shown]


def _row(drawing: Drawing, days: Days, row: Row, today: date, top: float) -> float:
    """Draw the strips of a name under it, or beside it where there is room; return where they end."""
    beside = days.left >= NAMES
    lines = wrapped(row.name, days.left - 2 * GAP if beside else drawing.width)
    for place, line in enumerate(lines):
        drawing.text(0.0, top + LEAD * (place + 1), line)
    height = LEAD * len(lines) + 6
    middle = top + HEIGHT / 2 if beside else top + height + HEIGHT / 2
    draw_strip(drawing, days, row.windows, middle, today)
    return max(top + height, middle + HEIGHT / 2 + 2)
