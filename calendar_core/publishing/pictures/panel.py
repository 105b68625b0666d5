"""A field of curves over days: round numbers as its scale, bands and lines."""

from __future__ import annotations

from math import ceil, floor, isfinite, log10
from typing import TYPE_CHECKING

from calendar_core.publishing.pictures.drawing import Scale

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from calendar_core.publishing.pictures.drawing import Drawing, Ink, Point

BAND = 0.16  # how dark the room of eight years in ten is (by eye)
SCALE = 52.0  # room for the numbers beside a field: five figures
EVERY = 3  # days between the points of a curve through the year: a phone shows no more


def round_steps(low: float, high: float, most: int = 4) -> list[float]:
    """Return round numbers between two, no more than ``most`` steps apart.

    >>> round_steps(0, 1730), round_steps(8.2, 16.1)
    ([0.0, 500.0, 1000.0, 1500.0], [10.0, 12.0, 14.0, 16.0])
    """
    rough = (high - low) / most
    if rough <= 0:
        return [low]
    ten = 10.0 ** floor(log10(rough))
    step = next(ten * n for n in (1, 2, 5, 10) if ten * n >= rough * (1 - 1e-9))
    return [round(step * n, 9) for n in range(ceil(low / step - 1e-9), floor(high / step + 1e-9) + 1)]


def upward(values: Iterable[float], top: float, bottom: float, *, least: float = 1.0) -> Scale:
    """Return the scale of values upward, from place ``bottom`` to ``top``; no less than ``least`` is between its ends."""
    known = [value for value in values if isfinite(value)]
    low, high = min(known, default=0.0), max(known, default=0.0)
    spare = max(least - (high - low), 0.0) / 2
    return Scale(low - spare, high + spare, bottom, top)


def draw_scale(drawing: Drawing, up: Scale, left: float, right: float, unit: str = "") -> None:
    """Draw a rule at each round number with the number before it, the highest under its unit."""
    steps = round_steps(up.low, up.high)
    for step in steps:
        y = up.at(step)
        drawing.line([(left, y), (right, y)], "rule")
        drawing.text(left - 6, y + 5, f"{step:g}", "end", ink="quiet")
    if unit:
        drawing.text(left - 6, up.at(steps[-1]) - 14, unit, "end", ink="quiet")


def draw_band(
    drawing: Drawing, places: Sequence[float], low: Sequence[float], high: Sequence[float], up: Scale
) -> None:
    """Fill the room between two curves, in pieces where something is not known."""
    piece: list[tuple[float, float, float]] = []
    for x, under, over in [*zip(places, low, high, strict=True), (0.0, float("nan"), 0.0)]:
        if isfinite(under) and isfinite(over):
            piece.append((x, up.at(under), up.at(over)))
            continue
        there: list[Point] = [(place, below) for place, below, _ in piece]
        back: list[Point] = [(place, above) for place, _, above in reversed(piece)]
        drawing.area([*there, *back], BAND)
        piece = []


def draw_curve(
    drawing: Drawing, places: Sequence[float], values: Sequence[float], up: Scale, width: float = 1.8,
    dashes: str = "", ink: Ink = "ink",
) -> None:  # fmt: skip
    """Draw a curve, lifted where it is not known."""
    points = [
        (x, up.at(value) if isfinite(value) else value) for x, value in zip(places, values, strict=True)
    ]
    drawing.line(points, ink, width, dashes=dashes)


def thinned(values: Sequence[Sequence[float]]) -> list[int]:
    """Return which days are drawn of curves: every third, the first and the last, and those beside a gap."""
    n = len(values[0])
    gaps = {
        place
        for curve in values
        for place in range(1, n)
        if isfinite(curve[place]) != isfinite(curve[place - 1])
    }
    return [
        place
        for place in range(n)
        if place % EVERY == 0 or place == n - 1 or place in gaps or place + 1 in gaps
    ]
