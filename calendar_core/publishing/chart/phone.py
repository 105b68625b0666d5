"""The phone sheet of the season: a panel, then each strip with its sentence, one beneath the other."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from calendar_core.publishing.chart.panel import draw_panel
from calendar_core.publishing.chart.sheet import GROUP, SCALE, SUBTITLE, TITLE, Sheet
from calendar_core.publishing.chart.strips import draw_row, legend
from calendar_core.publishing.chart.time import TimeAxis

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from calendar_core.publishing.chart.content import SeasonChart


def phone_figure(chart: SeasonChart) -> Figure:
    """Return the chart as a matplotlib figure, 6.2 inches wide and as high as its rows need."""
    sheet = Sheet()
    axis = TimeAxis(chart.start, chart.end)
    today = axis.x(chart.today) if chart.start <= chart.today <= chart.end else None
    sheet.paragraph(chart.text.title, TITLE)
    sheet.paragraph(chart.text.subtitle, SUBTITLE)
    sheet.double_rule()
    draw_panel(sheet, axis, chart, today)
    axis.draw_months(sheet, chart.text.months)
    for heading, rows in groupby(chart.rows, key=lambda row: row.heading):
        sheet.y += 18.0
        sheet.paragraph(heading, GROUP)
        sheet.y += 4.0
        axis.draw_months(sheet, chart.text.months)
        for row in rows:
            draw_row(sheet, axis, row, today)
    sheet.y += 12.0
    sheet.paragraph(legend(axis, chart), SCALE)
    sheet.double_rule()
    return sheet.finish()
