"""A sheet of paper to draw on, in points, filled from the top: faces, measured text, lines and rules."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.textpath import TextToPath

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

PAPER = "#f7f0e4"
INK = "#241f19"
MUTED = "#5b5044"
RULE = "#cdbf9f"
PAST = "#b3a488"
BAR = "#3f382f"
BAND = "#e3d6bb"
ACCENT = "#9c1f17"

POINTS_PER_INCH = 72.0
WIDTH = 6.2 * POINTS_PER_INCH
MARGIN = 14.0
BASELINE = 0.78  # of a line's height from its top
GAP = 14.0  # least space between a label and the sentence beside it
FONT = "STIXGeneral"


@dataclass(frozen=True, slots=True)
class Face:
    """How a piece of text is set: size and line height in points, and its colour."""

    size: float
    leading: float
    colour: str = INK
    weight: Literal["normal", "bold"] = "normal"
    style: Literal["normal", "italic"] = "normal"


# No face is smaller than 13 pt: a sheet scaled to 390 px then still shows it at 11 px.
TITLE = Face(25, 29)
SUBTITLE = Face(14, 18, MUTED)
GROUP = Face(18, 22, style="italic")
LABEL = Face(15, 18, weight="bold")
SENTENCE = Face(14, 17.5, MUTED)
SCALE = Face(13, 16, MUTED)
CURVE = Face(13.5, 16)
CURVE_BOLD = Face(13.5, 16, weight="bold")
CURVE_MUTED = Face(13.5, 16, MUTED, style="italic")
TODAY = Face(13.5, 16, ACCENT, weight="bold")


@lru_cache(maxsize=4096)
def width_of(text: str, face: Face) -> float:
    """Return the width of a line of text, in points."""
    return font_width(
        text, FontProperties(family=[FONT], size=face.size, weight=face.weight, style=face.style)
    )


def font_width(text: str, font: FontProperties) -> float:
    """Return the width of a line of text in a font, in points."""
    return float(TextToPath().get_text_width_height_descent(text, font, ismath=False)[0])


def wrap(text: str, face: Face, width: float) -> list[str]:
    """Break text at its spaces into lines no wider than ``width`` points; a word that is wider is broken too."""
    lines: list[str] = []
    for word in (piece for whole in text.split() for piece in _pieces(whole, face, width)):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_of(longer, face) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _pieces(word: str, face: Face, width: float) -> list[str]:
    pieces = [""]
    for letter in word:
        if pieces[-1] and width_of(word, face) > width and width_of(pieces[-1] + letter, face) > width:
            pieces.append("")
        pieces[-1] += letter
    return pieces


class Sheet:
    """A figure whose only axes spans it, in points, y downwards; ``y`` is how far it is filled."""

    def __init__(self, width: float = WIDTH, margin: float = MARGIN) -> None:
        self.width, self.margin = width, margin
        self.figure = Figure(figsize=(width / POINTS_PER_INCH, 1.0), facecolor=PAPER)
        self.axes = self.figure.add_axes((0.0, 0.0, 1.0, 1.0))
        self.axes.set_axis_off()
        self.axes.set_autoscale_on(False)
        self.axes.set_xlim(0.0, width)
        self.y = margin

    def finish(self) -> Figure:
        """Cut the sheet below what is on it."""
        height = float(np.ceil(self.y + self.margin))
        self.figure.set_size_inches(self.width / POINTS_PER_INCH, height / POINTS_PER_INCH)
        self.axes.set_ylim(height, 0.0)
        return self.figure

    def text(
        self, x: float, y: float, text: str, face: Face, align: Literal["left", "center", "right"] = "left"
    ) -> None:
        """Set one line with its baseline at ``y``, over whatever is there."""
        if not text.strip():
            return
        self.axes.text(
            x,
            y,
            text,
            family=FONT,
            size=face.size,
            color=face.colour,
            weight=face.weight,
            style=face.style,
            ha=align,
            va="baseline",
            parse_math=False,
            zorder=9,
        )

    def paragraph(self, text: str, face: Face, width: float | None = None) -> None:
        """Set text across the sheet, or so wide from its left margin, in as many lines as it needs."""
        for line in wrap(text, face, width or self.width - 2 * self.margin):
            self.text(self.margin, self.y + BASELINE * face.leading, line, face)
            self.y += face.leading

    def entry(self, label: str, face: Face, sentence: str, beside: Face) -> bool:
        """Set a label, with its sentence at the right on the same line; tell whether there was room for it."""
        right = self.width - self.margin
        fits = width_of(label, face) + GAP + width_of(sentence, beside) <= right - self.margin
        if fits:
            self.text(right, self.y + BASELINE * face.leading, sentence, beside, "right")
        self.paragraph(label, face)
        return fits

    def line(
        self,
        x: Sequence[float] | NDArray[np.float64],
        y: Sequence[float] | NDArray[np.float64],
        colour: str = INK,
        width: float = 0.6,
        *,
        dashes: tuple[float, ...] | None = None,
        zorder: float = 2,
    ) -> None:
        """Draw a line through points; NaN lifts the pen. ``dashes`` are in points."""
        line = Line2D(x, y, color=colour, linewidth=width, zorder=zorder, solid_capstyle="butt")
        if dashes:
            line.set_linestyle(
                (0.0, [length / width for length in dashes])
            )  # matplotlib counts in line widths
        self.axes.add_line(line)

    def rule(self, colour: str = RULE, width: float = 0.7) -> None:
        """Draw a thin rule across the sheet."""
        self.line((self.margin, self.width - self.margin), (self.y, self.y), colour, width)

    def double_rule(self) -> None:
        """Draw the two rules of head and foot."""
        self.y += 7.0
        self.rule(INK, 1.3)
        self.y += 2.8
        self.rule(INK, 0.6)
