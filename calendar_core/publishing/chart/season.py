"""The season chart as SVG and PNG: heat and day length of a year, stages and windows of work beneath them."""

from __future__ import annotations

import re
from io import BytesIO
from threading import Lock
from typing import TYPE_CHECKING, Literal
from xml.sax.saxutils import escape

import matplotlib.style
import numpy as np
from matplotlib.colors import to_rgb
from PIL import Image

from calendar_core.publishing.chart.desk import desk_figure
from calendar_core.publishing.chart.phone import phone_figure
from calendar_core.publishing.chart.sheet import (
    ACCENT,
    BAND,
    BAR,
    FONT,
    INK,
    MUTED,
    PAPER,
    PAST,
    RULE,
    font_width,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from calendar_core.publishing.chart.content import SeasonChart

Form = Literal["phone", "desk"]
"""The sheets a chart is drawn on: one strip beneath the other, or all species on one time axis."""

# matplotlib keeps its settings once per process, so two charts may not be drawn with them at a time.
_SETTINGS_LOCK = Lock()
_SETTINGS = {
    "svg.fonttype": "none",
    "svg.hashsalt": "season chart",
    "image.composite_image": False,  # each strip stays an image of its own, sharp at any size
    "text.hinting": "none",  # so that text is as wide as it was measured
}
_FALLBACKS = f"'{FONT}', 'STIX Two Text', 'Times New Roman', serif"
SHADES = 36  # of each colour on the paper; with seven colours they fill a palette


def season_figure(chart: SeasonChart, form: Form = "phone") -> Figure:
    """Return the chart as a matplotlib figure."""
    return desk_figure(chart) if form == "desk" else phone_figure(chart)


def season_svg(chart: SeasonChart, form: Form = "phone") -> bytes:
    """Return the chart as SVG, its text as text; the same chart gives the same bytes."""
    figure, page = _render(chart, form, "svg", 72, {"Date": None, "Creator": None})
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


def season_png(chart: SeasonChart, form: Form = "phone", dpi: int = 144) -> bytes:
    """Return the chart as PNG at ``dpi`` pixels per inch, in shades of its few colours, so that it is small."""
    page = _render(chart, form, "png", dpi, {"Software": None})[1]
    small = BytesIO()
    with Image.open(BytesIO(page)) as picture:
        shades = picture.convert("RGB").quantize(palette=_palette(), dither=Image.Dither.NONE)
    shades.save(small, "PNG", compress_level=8)  # 9 is half as fast, for a twentieth less
    return small.getvalue()


def _palette() -> Image.Image:
    """Return a picture whose palette holds the shades between the paper and each colour on it."""
    paper, share = np.array(to_rgb(PAPER)), np.linspace(0.0, 1.0, SHADES)[:, None]
    colours = (INK, MUTED, RULE, PAST, BAR, BAND, ACCENT)
    shades = np.vstack([paper + share * (np.array(to_rgb(colour)) - paper) for colour in colours])
    palette = Image.new("P", (1, 1))
    palette.putpalette(np.rint(shades * 255).astype(np.uint8).tobytes())
    return palette


def _render(
    chart: SeasonChart, form: Form, kind: Literal["svg", "png"], dpi: int, metadata: dict[str, None]
) -> tuple[Figure, bytes]:
    page = BytesIO()
    with _SETTINGS_LOCK, matplotlib.style.context(_SETTINGS, after_reset=True):
        figure = season_figure(chart, form)
        figure.savefig(page, format=kind, dpi=dpi, metadata=metadata)
    return figure, page.getvalue()
