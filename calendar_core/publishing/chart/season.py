"""The season chart as SVG and PNG: heat and day length of a year, stages and windows of work beneath them."""

from __future__ import annotations

import re
from io import BytesIO
from itertools import groupby
from threading import Lock
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

import matplotlib.style

from calendar_core.publishing.chart.panel import draw_panel
from calendar_core.publishing.chart.sheet import FONT, GROUP, SCALE, SUBTITLE, TITLE, Sheet, font_width
from calendar_core.publishing.chart.strips import draw_strip
from calendar_core.publishing.chart.time import TimeAxis

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from calendar_core.publishing.chart.content import SeasonChart

# matplotlib keeps its settings once per process, so two charts may not be drawn with them at a time.
_SETTINGS_LOCK = Lock()
_SETTINGS = {
    "svg.fonttype": "none",
    "svg.hashsalt": "season chart",
    "image.composite_image": False,  # each strip stays an image of its own, sharp at any size
    "text.hinting": "none",  # so that text is as wide as it was measured
}
_FALLBACKS = f"'{FONT}', 'STIX Two Text', 'Times New Roman', serif"


def season_figure(chart: SeasonChart) -> Figure:
    """Return the chart as a matplotlib figure, 6.2 inches wide and as high as its rows need."""
    sheet = Sheet()
    axis = TimeAxis(chart.start, chart.end)
    today = axis.x(chart.today) if chart.start <= chart.today <= chart.end else None
    sheet.paragraph(chart.text.title, TITLE)
    sheet.paragraph(chart.text.subtitle, SUBTITLE)
    sheet.double_rule()
    draw_panel(sheet, axis, chart, today)
    axis.draw_months(sheet, chart.text.months)
    for species, rows in groupby(chart.rows, key=lambda row: row.species):
        sheet.y += 18.0
        sheet.paragraph(species, GROUP)
        sheet.y += 4.0
        axis.draw_months(sheet, chart.text.months)
        for row in rows:
            draw_strip(sheet, axis, row, today)
    sheet.y += 12.0
    sheet.paragraph(chart.text.note, SCALE)
    sheet.double_rule()
    return sheet.finish()


def season_svg(chart: SeasonChart) -> bytes:
    """Return the chart as SVG, its text as text; the same chart gives the same bytes."""
    figure, page = _render(chart, "svg", 72, {"Date": None, "Creator": None})
    widths = iter([font_width(text.get_text(), text.get_fontproperties()) for text in figure.axes[0].texts])
    # A reader's browser seldom has the font: told the lengths, it fits its own serif to the same places.
    fitted = re.sub(
        "<text ",
        lambda _: f'<text textLength="{next(widths):.1f}" lengthAdjust="spacingAndGlyphs" ',
        page.decode(),
    )
    title, description = escape(chart.text.title), escape(chart.text.description)
    spoken = f"<title>{title}</title>\n <desc>{description}</desc>\n <metadata>"
    named = fitted.replace("<svg ", '<svg role="img" ', 1).replace("<metadata>", spoken, 1)
    return named.replace(f"'{FONT}'", _FALLBACKS).encode()


def season_png(chart: SeasonChart, dpi: int = 144) -> bytes:
    """Return the chart as PNG, 6.2 inches wide at ``dpi`` pixels per inch."""
    return _render(chart, "png", dpi, {"Software": None})[1]


def _render(chart: SeasonChart, form: str, dpi: int, metadata: dict[str, None]) -> tuple[Figure, bytes]:
    page = BytesIO()
    with _SETTINGS_LOCK, matplotlib.style.context(_SETTINGS, after_reset=True):
        figure = season_figure(chart)
        figure.savefig(page, format=form, dpi=dpi, metadata=metadata)
    return figure, page.getvalue()
