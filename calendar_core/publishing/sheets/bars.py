"""Small charts as inline SVG: pairs of bars, and dots along a line of days; in black and white, sizes in points."""

from __future__ import annotations

from collections import Counter
from html import escape
from math import ceil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.wording.review.summary_text import Bar, Dots

WIDTH = 250.0
LABEL, NUMBER = 100.0, 58.0  # room for the words left of the bars, and for those right of them
TYPE = 10.0  # size of type: at arm's length no smaller is read easily (common practice)
THICK, GAP = 10.0, 5.0
LEAST_DAYS, STEP_DAYS, DOT = 15, 5, 3.2
HIGHEST = 6  # dots on one another; more are not told apart in so small a chart
FILLED, HOLLOW = 'fill="black" stroke="black"', 'fill="white" stroke="black"'


def bars_svg(bars: Sequence[Bar]) -> str:
    """Return bars of this year, filled, above those of the year before, hollow; empty where there are none."""
    if not bars:
        return ""
    most = {
        unit: max(value or 0.0 for bar in bars if bar.unit == unit for value in bar.values)
        for unit in {bar.unit for bar in bars}
    }
    drawn, top = [], 1.0
    for bar in bars:
        drawn.append(_text(0, top + THICK * len(bar.values) / 2 + TYPE * 0.35, bar.label))
        for value, words, ink in zip(bar.values, bar.words, (FILLED, HOLLOW), strict=False):
            long = (WIDTH - LABEL - NUMBER) * max(value or 0.0, 0.0) / (most[bar.unit] or 1.0)
            size = f'width="{long:.1f}" height="{THICK - 2:g}"'
            if long:
                drawn.append(f'<rect x="{LABEL:g}" y="{top:.1f}" {size} {ink}/>')
            drawn.append(_text(LABEL + long + 4, top + TYPE * 0.8, words))
            top += THICK
        top += GAP
    return _svg(drawn, top)


def dots_svg(dots: Dots) -> str:
    """Return errors as dots along a line of days with nought in its middle, this year's above those of the year before."""
    errors = [*dots.this, *dots.before]
    reach = STEP_DAYS * ceil(max([LEAST_DAYS, *map(abs, errors)]) / STEP_DAYS)
    half, drawn, top = WIDTH / 2 - 8, [], 2 * DOT
    for row, ink in ((dots.this, FILLED), (dots.before, HOLLOW)):
        met = Counter(row)
        top += 2 * DOT * (min(max(met.values(), default=1), HIGHEST) - 1)
        for error, count in met.items():
            x = WIDTH / 2 + half * error / reach
            drawn += [
                f'<circle cx="{x:.1f}" cy="{top - 2 * DOT * above:.1f}" r="{DOT:g}" {ink}/>'
                for above in range(min(count, HIGHEST))
            ]
        top += 3 * DOT if row else 0
    axis = f"M8 {top:.1f}H{WIDTH - 8:g}M{WIDTH / 2:g} 0V{top + 4:.1f}"
    drawn.append(f'<path d="{axis}" stroke="black" fill="none"/>')
    ends, words = top + TYPE + 5, top + 2 * TYPE + 8
    drawn += [
        _text(0, ends, f"-{reach}"),
        _text(WIDTH / 2, ends, "0", "middle"),
        _text(WIDTH, ends, f"+{reach}", "end"),
        _text(0, words, dots.early),
        _text(WIDTH, words, dots.late, "end"),
    ]
    return _svg(drawn, words + 4)


def _text(x: float, y: float, words: str, anchor: str = "start") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def _svg(drawn: Sequence[str], height: float) -> str:
    return (
        f'<svg width="{WIDTH:g}pt" height="{height:.1f}pt" viewBox="0 0 {WIDTH:g} {height:.1f}" '
        f'font-size="{TYPE:g}" role="img">{"".join(drawn)}</svg>'
    )
