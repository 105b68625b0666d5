"""The strips of the season chart: a stage as a soft mark with its median, a window as a soft bar."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.colors import to_rgb
from matplotlib.patches import Polygon

from calendar_core.publishing.chart.sheet import BAR, INK, LABEL, RULE, SENTENCE
from calendar_core.publishing.chart.time import TimeAxis, draw_today

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from calendar_core.planning.items import Range
    from calendar_core.publishing.chart.content import SeasonChart, Strip, StripRow
    from calendar_core.publishing.chart.sheet import Sheet

BAR_HEIGHT = 11.0
MARK_HEIGHT = 8.0
ARROW = 6.0
SHADES_PER_DAY = 4  # fine enough that the eye sees no steps
FAINT = 0.1  # the least ink that shows on the paper (by eye)
PALE = 0.9  # a strip that is nowhere darker looks paler than its neighbours (by eye)


def draw_row(sheet: Sheet, axis: TimeAxis, row: StripRow, today: float | None) -> None:
    """Draw label, strips and sentence of a row, and today's mark on them."""
    sheet.y += 6.0
    beside = sheet.entry(row.label, LABEL, row.sentence, SENTENCE)
    middle = sheet.y + 10.0
    _draw_ruler(sheet, axis, middle)
    for strip in row.strips:
        draw_strip(sheet, axis, strip, middle)
    if today is not None:
        draw_today(sheet, today, middle - 10, middle + 10, edged=True)
    sheet.y = middle + 10.0
    if not beside:
        sheet.paragraph(row.sentence, SENTENCE)


def draw_strip(sheet: Sheet, axis: TimeAxis, strip: Strip, middle: float, scale: float = 1.0) -> None:
    """Draw a stage as a soft mark with its likely day, a window as a soft bar; arrows where it goes on."""
    if strip.closes is None:
        shade, height = stage_shade(axis, strip.opens), MARK_HEIGHT * scale
        likely, half = axis.x(strip.opens.likely), 8.0 * scale
        if axis.left <= likely <= axis.right:
            sheet.line((likely, likely), (middle - half, middle + half), INK, 2.0 * scale, zorder=5)
    else:
        shade, height = window_shade(axis, strip.opens, strip.closes), BAR_HEIGHT * scale
    _draw_shade(sheet, axis, shade * strip.chance, (middle - height / 2, middle + height / 2))
    for x, way in _beyond(axis, strip):
        tip = [(x, middle - 4 * scale), (x, middle + 4 * scale), (x + way * ARROW * scale, middle)]
        sheet.axes.add_patch(Polygon(tip, facecolor=INK, linewidth=0, zorder=5))


def extent(axis: TimeAxis, strip: Strip, scale: float = 1.0) -> tuple[float, float]:
    """Return from where to where a strip reaches on the axis, its arrows and the stroke of its mark included."""
    ends = [axis.x(strip.opens.early) - axis.day_width / 2, axis.x(strip.last.late) + axis.day_width / 2]
    left, right = np.clip(ends, axis.left, axis.right)
    tips = [x + way * ARROW * scale for x, way in _beyond(axis, strip)]
    return float(min([left, *tips])), float(max([right, *tips]))


def legend(axis: TimeAxis, chart: SeasonChart) -> str:
    """Return how the strips of a chart are read: of what is drawn, no more."""
    text, strips = chart.text, [strip for row in chart.rows for strip in row.strips]
    told = [
        text.soft if any(_is_soft(strip) for strip in strips) else "",
        text.likely if any(strip.closes is None for strip in strips) else "",
        text.pale if any(is_pale(strip) for strip in strips) else "",
        text.beyond if any(list(_beyond(axis, strip)) for strip in strips) else "",
        text.note,
    ]
    return " ".join(filter(None, told))


def _is_soft(strip: Strip) -> bool:
    return any(dates.early < dates.late for dates in (strip.opens, strip.last))


def is_pale(strip: Strip) -> bool:
    """Tell whether a strip is pale throughout: its window is unsure everywhere, or does not come every year."""
    if strip.closes is None:
        return strip.chance < PALE
    whole = TimeAxis(strip.opens.early, max(strip.closes.late, strip.opens.late))
    return float(window_shade(whole, strip.opens, strip.closes).max()) * strip.chance < PALE


def _positions(axis: TimeAxis) -> NDArray[np.float64]:
    """Return the middles of the shaded columns, in points."""
    columns = axis.days * SHADES_PER_DAY
    return np.asarray(axis.left + (np.arange(columns) + 0.5) * (axis.right - axis.left) / columns)


def stage_shade(axis: TimeAxis, comes: Range) -> NDArray[np.float64]:
    """Return the darkness of a stage's mark, 0 to 1: full on the likely day, none beyond 10 and 90 %."""
    half = axis.day_width / 2
    days = [axis.x(comes.early) - half, axis.x(comes.likely), axis.x(comes.late) + half]
    return np.interp(_positions(axis), days, [0.1, 1.0, 0.1], left=0.0, right=0.0)


def window_shade(axis: TimeAxis, opens: Range, closes: Range) -> NDArray[np.float64]:
    """Return the darkness of a window's bar, 0 to 1: the share of years in which it is open on that day.

    That is how often it has opened less how often it has closed. On the days from the earliest opening to the latest
    closing it is never less than can be seen.
    """
    positions, half = _positions(axis), axis.day_width / 2
    opened, closed = (
        np.interp(positions, [axis.x(dates.early), axis.x(dates.likely), axis.x(dates.late)], [0.0, 0.5, 1.0])
        for dates in (opens, closes)
    )
    inside = (positions > axis.x(opens.early) - half) & (positions < axis.x(closes.late) + half)
    return np.where(inside, np.clip(opened - closed, FAINT, 1.0), 0.0)


def _draw_shade(
    sheet: Sheet, axis: TimeAxis, shade: NDArray[np.float64], between: tuple[float, float]
) -> None:
    inked = np.flatnonzero(shade)
    if not inked.size:
        return
    first, end = int(inked[0]), int(inked[-1]) + 1
    image = np.empty((1, end - first, 4))
    image[..., :3] = to_rgb(BAR)
    image[..., 3] = shade[first:end]
    column = (axis.right - axis.left) / shade.size
    top, bottom = between
    place = (axis.left + first * column, axis.left + end * column, bottom, top)
    sheet.axes.imshow(image, extent=place, aspect="auto", interpolation="none", zorder=4)


def _draw_ruler(sheet: Sheet, axis: TimeAxis, middle: float) -> None:
    sheet.line((axis.left, axis.right), (middle, middle), RULE, 0.8)
    marks = np.unique([edge for _, begin, end in axis.months() for edge in (begin, end)])
    across = np.repeat(marks, 3)
    up_and_down = np.tile([middle - 2.5, middle + 2.5, np.nan], len(marks))
    sheet.line(across, up_and_down, RULE, 0.8)


def _beyond(axis: TimeAxis, strip: Strip) -> Iterator[tuple[float, int]]:
    """Yield the ends of the axis past which a strip goes on, each with its way."""
    if strip.opens.early < axis.start:
        yield axis.left, -1
    if strip.last.late > axis.end:
        yield axis.right, 1
