"""The strips of the season chart: a stage as a soft mark with its median, a window as a soft bar."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.colors import to_rgb
from matplotlib.patches import Polygon

from calendar_core.publishing.chart.sheet import BAR, INK, LABEL, PAPER, RULE, SENTENCE
from calendar_core.publishing.chart.time import LEFT, RIGHT, draw_today

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calendar_core.planning.items import Range
    from calendar_core.publishing.chart.content import StageRow
    from calendar_core.publishing.chart.sheet import Sheet
    from calendar_core.publishing.chart.time import TimeAxis

BAR_HEIGHT = 11.0
MARK_HEIGHT = 8.0
SHADES_PER_DAY = 4  # fine enough that the eye sees no steps


def draw_strip(sheet: Sheet, axis: TimeAxis, row: StageRow, today: float | None) -> None:
    """Draw label, strip and sentence of a row, and today's mark on the strip."""
    sheet.y += 6.0
    beside = sheet.entry(row.label, LABEL, row.sentence, SENTENCE)
    middle = sheet.y + 10.0
    _draw_ruler(sheet, axis, middle)
    if row.closes is None:
        _draw_shade(sheet, stage_shade(axis, row.opens), middle, MARK_HEIGHT)
        likely = axis.x(row.opens.likely)
        if LEFT <= likely <= RIGHT:
            sheet.line((likely, likely), (middle - 8, middle + 8), INK, 2.0, zorder=5)
    else:
        _draw_shade(sheet, window_shade(axis, row.opens, row.closes), middle, BAR_HEIGHT)
    _draw_beyond(sheet, axis, row, middle)
    if today is not None:
        # Edged in paper, the mark shows on a dark bar.
        sheet.line((today, today), (middle - 10, middle + 10), PAPER, 3.4, zorder=6)
        draw_today(sheet, today, middle - 10, middle + 10)
    sheet.y = middle + 10.0
    if not beside:
        sheet.paragraph(row.sentence, SENTENCE)


def _positions(axis: TimeAxis) -> NDArray[np.float64]:
    """Return the middles of the shaded columns, in points."""
    columns = axis.days * SHADES_PER_DAY
    return LEFT + (np.arange(columns) + 0.5) * (RIGHT - LEFT) / columns


def stage_shade(axis: TimeAxis, comes: Range) -> NDArray[np.float64]:
    """Return the darkness of a stage's mark, 0 to 1: full on the likely day, none beyond 10 and 90 %."""
    half = axis.day_width / 2
    days = [axis.x(comes.early) - half, axis.x(comes.likely), axis.x(comes.late) + half]
    return np.interp(_positions(axis), days, [0.1, 1.0, 0.1], left=0.0, right=0.0)


def window_shade(axis: TimeAxis, opens: Range, closes: Range) -> NDArray[np.float64]:
    """Return the darkness of a window's bar, 0 to 1: it fades in over opening and out over closing."""
    positions = _positions(axis)
    opened, closed = (
        np.interp(positions, [axis.x(dates.early), axis.x(dates.likely), axis.x(dates.late)], [0.0, 0.5, 1.0])
        for dates in (opens, closes)
    )
    return np.asarray(opened * (1 - closed), dtype=np.float64)


def _draw_shade(sheet: Sheet, shade: NDArray[np.float64], middle: float, height: float) -> None:
    image = np.empty((1, shade.size, 4))
    image[..., :3] = to_rgb(BAR)
    image[..., 3] = shade
    extent = (LEFT, RIGHT, middle + height / 2, middle - height / 2)
    sheet.axes.imshow(image, extent=extent, aspect="auto", interpolation="none", zorder=4)


def _draw_ruler(sheet: Sheet, axis: TimeAxis, middle: float) -> None:
    sheet.line((LEFT, RIGHT), (middle, middle), RULE, 0.8)
    marks = np.unique([edge for _, begin, end in axis.months() for edge in (begin, end)])
    across = np.repeat(marks, 3)
    up_and_down = np.tile([middle - 2.5, middle + 2.5, np.nan], len(marks))
    sheet.line(across, up_and_down, RULE, 0.8)


def _draw_beyond(sheet: Sheet, axis: TimeAxis, row: StageRow, middle: float) -> None:
    """Point past the ends of the axis where a strip goes on beyond them."""
    last = row.opens if row.closes is None else row.closes
    for beyond, x, way in ((row.opens.early < axis.start, LEFT, -1), (last.late > axis.end, RIGHT, 1)):
        if beyond:
            tip = [(x, middle - 4), (x, middle + 4), (x + way * 6, middle)]
            sheet.axes.add_patch(Polygon(tip, facecolor=INK, linewidth=0, zorder=5))
