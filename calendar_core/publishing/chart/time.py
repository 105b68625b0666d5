"""The time axis of the season chart and today's mark on it, shared by the panel and every strip."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.patches import Polygon

from calendar_core.publishing.chart.sheet import ACCENT, MARGIN, MUTED, PAPER, SCALE, WIDTH, width_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from calendar_core.publishing.chart.sheet import Sheet

LEFT = MARGIN
RIGHT = WIDTH - MARGIN - 34.0  # room for the hours of day length beside the panel
YEAR_GAP = 4.0


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """Days from ``start`` to ``end`` (both included) laid out between ``left`` and ``right``, in points."""

    start: date
    end: date
    left: float = LEFT
    right: float = RIGHT

    @property
    def days(self) -> int:
        """The number of days on the axis."""
        return (self.end - self.start).days + 1

    @property
    def day_width(self) -> float:
        """The width of one day, in points."""
        return (self.right - self.left) / self.days

    @property
    def middles(self) -> NDArray[np.float64]:
        """The middle of every day, in points."""
        return np.asarray(self.left + (np.arange(self.days) + 0.5) * self.day_width, dtype=np.float64)

    def x(self, day: date) -> float:
        """Return where the middle of a day lies, in points; days off the axis lie beyond its ends."""
        return self.left + ((day - self.start).days + 0.5) * self.day_width

    def months(self) -> Iterator[tuple[date, float, float]]:
        """Yield each month on the axis: its first day there, where it begins and where it ends."""
        first = self.start
        while first <= self.end:
            following = (first.replace(day=1) + timedelta(days=32)).replace(day=1)
            half = self.day_width / 2
            yield first, self.x(first) - half, min(self.x(following) - half, self.right)
            first = following

    def draw_months(self, sheet: Sheet, names: tuple[str, ...]) -> None:
        """Draw the axis with a tick and a name at each month; a narrow axis names every second or third.

        Beneath the first month and each January stands the year.
        """
        months = list(self.months())
        whole = max(end - begin for _, begin, end in months)
        widest = max(width_of(name, SCALE) for name in names)
        step = next((n for n in (1, 2, 3) if widest <= n * whole), 4)
        sheet.line((self.left, self.right), (sheet.y, sheet.y), MUTED, 0.6)
        for place, (first, begin, end) in enumerate(months):
            sheet.line((begin, begin), (sheet.y, sheet.y + 4), MUTED, 0.6)
            name = names[first.month - 1]
            if place % step == 0 and (step > 1 or width_of(name, SCALE) <= end - begin):
                sheet.text((begin + end) / 2, sheet.y + 14.5, name, SCALE, "center")
        sheet.y += 18.0
        self._draw_years(sheet, months)

    def _draw_years(self, sheet: Sheet, months: list[tuple[date, float, float]]) -> None:
        """Name the years where they begin, and the first where there is room before the second."""
        begins = [(str(first.year), begin) for first, begin, _ in months[1:] if first.month == 1]
        begins = [(str(self.start.year), self.left), *begins]
        ends = [begin for _, begin in begins[1:]] + [self.right]
        for (year, begin), end in zip(begins, ends, strict=True):
            if width_of(year, SCALE) + YEAR_GAP <= end - begin:
                sheet.text(begin + 1.5, sheet.y + 9.5, year, SCALE)
        sheet.y += 13.0


def draw_today(sheet: Sheet, x: float, top: float, bottom: float, *, edged: bool = False) -> None:
    """Draw today's mark, a line under a small wedge; edged in paper it shows on a dark bar."""
    if edged:
        sheet.line((x, x), (top, bottom), PAPER, 3.4, zorder=6)
    sheet.line((x, x), (top, bottom), ACCENT, 1.6, zorder=7)
    wedge = [(x - 3.6, top - 2), (x + 3.6, top - 2), (x, top + 4)]
    sheet.axes.add_patch(Polygon(wedge, facecolor=ACCENT, edgecolor=PAPER, linewidth=0.6, zorder=7))
