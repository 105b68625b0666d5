"""The desk sheet of the season: all rows on one time axis, each strip with its caption, on the width of an A3 page."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import count, groupby
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.publishing.chart.panel import draw_panel
from calendar_core.publishing.chart.sheet import (
    BASELINE,
    GROUP,
    MUTED,
    RULE,
    SUBTITLE,
    TITLE,
    Face,
    Sheet,
    width_of,
    wrap,
)
from calendar_core.publishing.chart.strips import draw_strip, extent, legend
from calendar_core.publishing.chart.time import TimeAxis, draw_today

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from matplotlib.figure import Figure

    from calendar_core.publishing.chart.content import SeasonChart, Strip, StripRow

POINTS_PER_MM = 72 / 25.4
DESK_WIDTH = 420 * POINTS_PER_MM  # A3 lying (ISO 216); 1600 pixels show a point as 1.3
DESK_MARGIN = 26.0
COLUMNS = (112.0, 112.0)  # of headings and of labels, left of the axis
CAPTION_WIDTH = 176.0  # so much room is right of the axis for captions of what ends late
LONGEST = 330.0  # of a line, where there is room for it
GUTTER = 10.0
PANEL_HEIGHT = 128.0
LANE = 12.0
BESIDE = 4.0  # between a strip and its caption, and between neighbours
STRIP_SCALE = 0.7
MONTHS_EVERY = 560.0  # a tall sheet names the months again
FEW = 5  # but not for the sake of the last few headings

# Nothing is smaller than 9.5 pt: on a printed A3 page as in a book, at 1600 pixels 12.8 px.
HEADING = Face(10.5, LANE, weight="bold")
ROW_LABEL = Face(10.0, LANE)
CAPTION = Face(9.5, LANE, MUTED)
LEGEND = Face(10.5, 13.0, MUTED)


@dataclass(frozen=True, slots=True)
class _Placed:
    """A strip on a lane of its row, counted from 0, and the lines of its caption from ``x`` on."""

    strip: Strip
    lane: int
    x: float
    lines: tuple[str, ...]


@dataclass(slots=True)
class _Lanes:
    """What lies on each lane of a row, as spans in points."""

    taken: list[list[tuple[float, float]]] = field(default_factory=list)

    def free(self, lane: int, left: float, right: float) -> bool:
        """Tell whether nothing lies there."""
        spans = self.taken[lane] if lane < len(self.taken) else []
        return all(right + BESIDE <= begin or end + BESIDE <= left for begin, end in spans)

    def take(self, lane: int, left: float, right: float) -> None:
        """Lay something there."""
        while len(self.taken) <= lane:
            self.taken.append([])
        self.taken[lane].append((left, right))


def desk_figure(chart: SeasonChart) -> Figure:
    """Return the chart as a matplotlib figure, as wide as an A3 page that lies and as high as its rows need."""
    sheet = Sheet(DESK_WIDTH, DESK_MARGIN)
    left = DESK_MARGIN + sum(COLUMNS) + 2 * GUTTER
    axis = TimeAxis(chart.start, chart.end, left, DESK_WIDTH - DESK_MARGIN - CAPTION_WIDTH - GUTTER)
    today = axis.x(chart.today) if chart.start <= chart.today <= chart.end else None
    sheet.paragraph(chart.text.title, TITLE)
    sheet.paragraph(chart.text.subtitle, SUBTITLE)
    sheet.double_rule()
    _draw_head(sheet, axis, chart, today)
    for part, rows in groupby(chart.rows, key=lambda row: row.part):
        groups = [(heading, list(group)) for heading, group in groupby(rows, key=lambda row: row.heading)]
        _draw_part(sheet, axis, part, groups, chart)
    axis.draw_months(sheet, chart.text.months)
    sheet.double_rule()
    return sheet.finish()


def _draw_head(sheet: Sheet, axis: TimeAxis, chart: SeasonChart, today: float | None) -> None:
    """Draw the panel, and left of it how the sheet is read."""
    top = sheet.y
    draw_panel(sheet, axis, chart, today, PANEL_HEIGHT)
    below, sheet.y = sheet.y, top + 14.0
    sheet.paragraph(legend(axis, chart), LEGEND, axis.left - DESK_MARGIN - 2 * GUTTER)
    sheet.y = max(sheet.y, below) + 4.0


def _draw_part(
    sheet: Sheet,
    axis: TimeAxis,
    title: str,
    groups: Sequence[tuple[str, Sequence[StripRow]]],
    chart: SeasonChart,
) -> None:
    """Draw the rows of a part beneath its months; in a long one they are named again."""
    today = axis.x(chart.today) if chart.start <= chart.today <= chart.end else None
    while groups:
        sheet.text(DESK_MARGIN, sheet.y + 18.0, title, GROUP)
        axis.draw_months(sheet, chart.text.months)
        top, drawn = sheet.y, 0
        for heading, rows in groups:
            if sheet.y - top > MONTHS_EVERY and len(groups) - drawn > FEW:
                break
            _draw_group(sheet, axis, heading, rows, today)
            drawn += 1
        _draw_verticals(sheet, axis, today, top)
        groups, title = groups[drawn:], ""


def _draw_group(
    sheet: Sheet, axis: TimeAxis, heading: str, rows: Iterable[StripRow], today: float | None
) -> None:
    """Draw rows with their common heading beside them, a thin rule above."""
    sheet.rule(RULE, 0.5)
    sheet.y += 2.0
    top = sheet.y
    under_heading = top + _column(sheet, DESK_MARGIN, heading, HEADING, COLUMNS[0])
    for row in rows:
        label_height = _column(sheet, DESK_MARGIN + COLUMNS[0] + GUTTER, row.label, ROW_LABEL, COLUMNS[1])
        lanes = _draw_strips(sheet, axis, row.strips, today)
        sheet.y += max(label_height, lanes * LANE)
    sheet.y = max(sheet.y, under_heading) + 2.0


def _column(sheet: Sheet, x: float, text: str, face: Face, width: float) -> float:
    """Set text in a column from the sheet's y on, which stays; return its height."""
    lines = wrap(text, face, width)
    for number, line in enumerate(lines):
        sheet.text(x, sheet.y + (number + BASELINE) * face.leading, line, face)
    return len(lines) * face.leading


def _draw_strips(sheet: Sheet, axis: TimeAxis, strips: Sequence[Strip], today: float | None) -> int:
    """Draw strips with their captions on as few lanes as they fit on; return how many."""
    lanes = _Lanes()
    for strip in sorted(strips, key=lambda strip: (strip.opens.likely, strip.last.likely)):
        placed = _place(axis, strip, lanes, today)
        middle = sheet.y + (placed.lane + 0.5) * LANE
        draw_strip(sheet, axis, strip, middle, STRIP_SCALE)
        for number, line in enumerate(placed.lines):
            sheet.text(placed.x, sheet.y + (placed.lane + number + BASELINE) * LANE, line, CAPTION)
    return len(lanes.taken)


def _place(axis: TimeAxis, strip: Strip, lanes: _Lanes, today: float | None) -> _Placed:
    """Find the first lane on which a strip has room with its caption: right of it, else left, else in short lines."""
    left, right = extent(axis, strip, STRIP_SCALE)
    places = list(_captions(axis, strip.caption, (left, right), today))
    for lane in count():
        for x, width, lines in places:
            rows = range(lane, lane + len(lines))
            if lanes.free(lane, left, right) and all(lanes.free(row, x, x + width) for row in rows):
                lanes.take(lane, left, right)
                for row in rows:
                    lanes.take(row, x, x + width)
                return _Placed(strip, lane, x, lines)
    raise AssertionError  # lanes have no end


def _captions(
    axis: TimeAxis, caption: str, span: tuple[float, float], today: float | None
) -> Iterator[tuple[float, float, tuple[str, ...]]]:
    """Yield where a caption may begin, its width and its lines; none crosses today's line or leaves the sheet."""
    for longest in (LONGEST, CAPTION_WIDTH):
        lines = tuple(wrap(caption, CAPTION, longest))
        width = max((width_of(line, CAPTION) for line in lines), default=0.0)
        right, left = span[1] + BESIDE, span[0] - BESIDE - width
        if _crosses(today, right, width) and today is not None:
            right = today + BESIDE
        if right + width <= DESK_WIDTH - DESK_MARGIN:
            yield right, width, lines
        if left >= axis.left + BESIDE and not _crosses(today, left, width):
            yield left, width, lines


def _crosses(today: float | None, x: float, width: float) -> bool:
    return today is not None and x - BESIDE < today < x + width + BESIDE


def _draw_verticals(sheet: Sheet, axis: TimeAxis, today: float | None, top: float) -> None:
    """Draw a hairline at each month and today's line from ``top`` through the rows so far."""
    begins = [begin for _, begin, _ in axis.months()]
    across = np.repeat(begins, 3)
    down = np.tile([top, sheet.y, np.nan], len(begins))
    sheet.line(across, down, RULE, 0.4, zorder=1)
    if today is not None:
        draw_today(sheet, today, top, sheet.y, edged=True)
