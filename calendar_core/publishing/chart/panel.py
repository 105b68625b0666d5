"""The upper panel of the season chart: heat against past years, and day length, each named at its curve."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.patches import Rectangle

from calendar_core.publishing.chart.labels import OBSTACLE, LabelPlacer
from calendar_core.publishing.chart.sheet import (
    BAND,
    CURVE,
    CURVE_BOLD,
    CURVE_MUTED,
    INK,
    MUTED,
    PAPER,
    PAST,
    RULE,
    SCALE,
    TODAY,
    width_of,
)
from calendar_core.publishing.chart.time import draw_today

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calendar_core.publishing.chart.content import SeasonChart
    from calendar_core.publishing.chart.sheet import Face, Sheet
    from calendar_core.publishing.chart.time import TimeAxis

    Points = NDArray[np.float64]
    Name = tuple[str, Face, Points, Points]

HEIGHT = 226.0
PAST_STEP_DAYS = 4  # past years are background: every fourth day keeps the file small
PAST_WEIGHT, GRID_WEIGHT = 0.25, 0.01  # how much a name minds covering them, beside a bold curve
NAMED_DAYS = 60  # this year's curve is named where it is newest
ROOM = 3.0  # between the numbers of the scale and today's line
PARTED = 0.3  # curves are named where they are this share of their widest spread apart


@dataclass(frozen=True, slots=True)
class Scale:
    """A vertical scale: ``low`` lies at ``bottom``, ``high`` at ``top``, both in points."""

    low: float
    high: float
    bottom: float
    top: float
    step: float

    def y(self, values: Points) -> Points:
        """Return where values lie, in points."""
        return self.bottom - (values - self.low) / (self.high - self.low) * (self.bottom - self.top)

    @property
    def ticks(self) -> Points:
        """The round values on the scale."""
        return np.arange(np.ceil(self.low / self.step), np.floor(self.high / self.step) + 1) * self.step


@dataclass(frozen=True, slots=True)
class Panel:
    """The place of the curves on the sheet."""

    sheet: Sheet
    axis: TimeAxis
    top: float
    bottom: float
    placer: LabelPlacer

    @property
    def x(self) -> Points:
        """The middle of every day."""
        return self.axis.middles

    def curve(self, y: Points, colour: str, width: float, dashes: tuple[float, ...] | None = None) -> None:
        """Draw a curve that names keep clear of."""
        self.sheet.line(self.x, y, colour, width, dashes=dashes, zorder=3)
        self.placer.add_line(self.x, y)


def draw_panel(
    sheet: Sheet, axis: TimeAxis, chart: SeasonChart, today: float | None, height: float = HEIGHT
) -> None:
    """Draw heat, day length and today; all curves before the names that keep clear of them."""
    top = sheet.y + 30.0
    bottom = top + height
    panel = Panel(sheet, axis, top, bottom, LabelPlacer((axis.left, top, axis.right, bottom)))
    if today is not None:
        _draw_today(panel, today, chart.text.today)
    for text, face, x, y in [_draw_day_length(panel, chart), *_draw_heat(panel, chart, today)]:
        panel.placer.name(sheet, text, face, x, y)
    sheet.y = bottom


def _draw_today(panel: Panel, today: float, text: str) -> None:
    half = width_of(text, TODAY) / 2
    x = float(np.clip(today, panel.axis.left + half, panel.axis.right - half))
    panel.sheet.text(x, panel.top - 10, text, TODAY, "center")
    draw_today(panel.sheet, today, panel.top - 4, panel.bottom)
    down = np.arange(panel.top, panel.bottom)
    panel.placer.add_line(np.full_like(down, today), down, OBSTACLE)


def _draw_heat(panel: Panel, chart: SeasonChart, today: float | None) -> list[Name]:
    """Draw what is known of heat; return the names of its curves and where they may stand."""
    scale, text = _heat_scale(chart, panel.top, panel.bottom), chart.text
    names: list[Name] = []
    if scale is None:
        return names
    _draw_heat_scale(panel, scale, chart, today)
    if chart.heat is not None:
        y = scale.y(chart.heat)
        panel.curve(y, INK, 2.4)
        latest = np.flatnonzero(np.isfinite(y))[-NAMED_DAYS:]
        names.append((text.heat, CURVE_BOLD, panel.x[latest], y[latest]))
    if chart.heat_range is not None:
        names.append((text.heat_range, CURVE, *_draw_range(panel, scale.y(chart.heat_range))))
    if chart.past_heat is not None and len(chart.past_heat):
        names.append((text.past_heat, CURVE_MUTED, *_draw_past(panel, scale.y(chart.past_heat))))
    return names


def _draw_day_length(panel: Panel, chart: SeasonChart) -> Name:
    """Draw day length on its own scale; its name may stand by the half of the year with the longer days."""
    scale = _hour_scale(chart, panel.top, panel.bottom)
    _draw_hour_scale(panel, scale, chart.text.hour_unit)
    y = scale.y(chart.day_length_h)
    panel.curve(y, MUTED, 1.2, dashes=(5, 3))
    longer = y <= np.median(y)
    return chart.text.day_length, CURVE_MUTED, panel.x[longer], y[longer]


def _draw_range(panel: Panel, y: Points) -> tuple[Points, Points]:
    """Draw what is still to come, a band from 10 to 90 % and its median; return its edges."""
    low, likely, high = y
    panel.sheet.axes.fill_between(panel.x, low, high, facecolor=BAND, linewidth=0, alpha=0.75, zorder=2.5)
    panel.curve(likely, INK, 1.1)
    for edge in (low, high):
        panel.curve(edge, INK, 1.0, dashes=(1, 1.6))
    return _outline(panel.x, low, high)


def _draw_past(panel: Panel, y: Points) -> tuple[Points, Points]:
    """Draw a thin line per past year; return the outermost two, beside which their name may stand."""
    lifted = np.flatnonzero(np.isnan(y).all(axis=0))  # sums begin anew: the days beside stay
    kept = np.union1d(np.arange(0, y.shape[1], PAST_STEP_DAYS), [lifted - 1, lifted, lifted + 1])
    kept = kept[(kept >= 0) & (kept < y.shape[1])].astype(int)
    thinned = np.column_stack([y[:, kept], np.full(len(y), np.nan)])
    across = np.tile(np.append(panel.x[kept], np.nan), len(y))
    panel.sheet.line(across, thinned.ravel(), PAST, 0.6, zorder=2)
    panel.placer.add_line(np.broadcast_to(panel.x, y.shape), y, weight=PAST_WEIGHT)
    known = np.isfinite(y).any(axis=0)
    return _outline(panel.x[known], np.nanmax(y[:, known], axis=0), np.nanmin(y[:, known], axis=0))


def _outline(x: Points, low: Points, high: Points) -> tuple[Points, Points]:
    """Return the points of two edges where they have parted."""
    spread = np.nan_to_num(low - high)
    parted = spread >= PARTED * spread.max(initial=0.0)
    return np.tile(x[parted], 2), np.concatenate([low[parted], high[parted]])


def _heat_scale(chart: SeasonChart, top: float, bottom: float) -> Scale | None:
    """Return the scale of heat from zero, or None where no heat is known."""
    given = [np.ravel(part) for part in (chart.heat, chart.heat_range, chart.past_heat) if part is not None]
    values = np.concatenate(given) if given else np.empty(0)
    values = values[np.isfinite(values)]
    if not values.size or values.max() <= 0:
        return None
    high = 1.2 * float(values.max())  # room above for a name
    steps = [digit * 10.0**power for power in range(6) for digit in (1, 2, 5)]
    step = next((step for step in steps if high / step <= 5), steps[-1])
    return Scale(0.0, high, bottom, top, step)


def _hour_scale(chart: SeasonChart, top: float, bottom: float) -> Scale:
    """Return the scale of day length: even hours, four at least, so that an equatorial year looks flat."""
    shortest, longest = float(np.min(chart.day_length_h)), float(np.max(chart.day_length_h))
    low, high = 2 * np.floor(shortest / 2), 2 * np.ceil(longest / 2)
    if high - low < 4:
        low = min(max(np.round((shortest + longest) / 2) - 2, 0.0), 20.0)
        high = low + 4
    height = bottom - top
    step = next(step for step in (1, 2, 4, 6) if (high - low) / step <= 5)
    return Scale(low, high, bottom - 0.05 * height, top + 0.16 * height, step)


def _draw_heat_scale(panel: Panel, scale: Scale, chart: SeasonChart, today: float | None) -> None:
    """Draw hairlines at round sums, the numbers on them where sums are small."""
    ticks = [tick for tick in scale.ticks[1:] if scale.y(tick) > scale.top + SCALE.leading]
    left, right = panel.axis.left, panel.axis.right
    across = np.arange(left, right)
    said = [f"{tick:.0f}" for tick in ticks[:-1]] + [
        f"{tick:.0f} {chart.text.heat_unit}" for tick in ticks[-1:]
    ]
    at = _smallest(panel, chart, today, max((width_of(number, SCALE) for number in said), default=0.0))
    for tick, number in zip(ticks, said, strict=True):
        y, width = float(scale.y(tick)), width_of(number, SCALE)
        panel.sheet.line((left, right), (y, y), RULE, 0.5, zorder=0.5)
        panel.placer.add_line(across, np.full_like(across, y), weight=GRID_WEIGHT)
        ground = Rectangle((at, y - 13), width + 3, 12, facecolor=PAPER, linewidth=0, zorder=8)
        panel.sheet.axes.add_patch(ground)
        panel.sheet.text(at, y - 3, number, SCALE)
        panel.placer.add_box(at, y - 14, at + width, y + 1)


def _smallest(panel: Panel, chart: SeasonChart, today: float | None, width: float) -> float:
    """Return where sums are smallest with so much room at the right, off today's line: mostly where they begin anew."""
    known = [
        part for part in (chart.heat, chart.heat_range, chart.past_heat) if part is not None and len(part)
    ]
    sums = np.vstack([np.atleast_2d(part) for part in known])
    likely = np.where(np.isfinite(sums), sums, np.inf).min(axis=0)
    begins = panel.x - panel.axis.day_width / 2
    likely[begins + width > panel.axis.right] = np.inf
    if today is not None:
        likely[(begins < today + ROOM) & (begins + width > today - ROOM)] = np.inf
    return float(begins[np.argmin(likely)])


def _draw_hour_scale(panel: Panel, scale: Scale, unit: str) -> None:
    """Write the hours of day length beside the panel."""
    right = panel.axis.right
    panel.sheet.line((right, right), (scale.bottom, scale.top), RULE, 0.7)
    for tick in scale.ticks:
        y = float(scale.y(tick))
        panel.sheet.line((right - 4, right), (y, y), MUTED, 0.6)
        panel.sheet.text(right + 4, y + 4, f"{tick:.0f} {unit}", SCALE)
