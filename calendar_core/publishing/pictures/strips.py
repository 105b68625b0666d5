"""The strip of a window or stage through the year: its soft ends are how unsure they are, a mark is today."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from math import nan
from typing import TYPE_CHECKING

from calendar_core.publishing.pictures.drawing import PHONE, Box, Drawing, along
from calendar_core.publishing.pictures.letters import width_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from calendar_core.planning.items import Range
    from calendar_core.publishing.pictures.drawing import Ink, Point

BAR, MARK = 13.0, 11.0  # heights of a window's bar and of a stage's mark
HEIGHT = 30.0
FAINT = 0.12  # the least ink that shows on the paper (by eye)
STRONGEST = 0.82  # so that today's mark stands out on a bar (by eye)
ARROW = 6.0
MONTH = 18.0


@dataclass(frozen=True, slots=True)
class Window:
    """A window of work, or, without ``closes``, a stage; ``chance`` is the share of years in which it comes."""

    opens: Range
    closes: Range | None = None
    chance: float = 1.0

    @property
    def last(self) -> Range:
        """When it is over."""
        return self.opens if self.closes is None else self.closes


@dataclass(frozen=True, slots=True)
class Days:
    """Days from ``start`` to ``end``, both included, from one place to another; a day's place is its middle."""

    start: date
    end: date
    left: float = 0.0
    right: float = PHONE

    @property
    def wide(self) -> float:
        """How wide a day is."""
        return (self.right - self.left) / ((self.end - self.start).days + 1)

    def x(self, day: date) -> float:
        """Return the place of a day; one off the axis lies beyond its ends."""
        return self.left + ((day - self.start).days + 0.5) * self.wide

    def months(self) -> Iterator[tuple[date, float, float]]:
        """Give each month: its first day there, where it begins, where it ends."""
        first = self.start
        while first <= self.end:
            following = (first.replace(day=1) + timedelta(days=32)).replace(day=1)
            yield (
                first,
                self.x(first) - self.wide / 2,
                min(self.x(following) - self.wide / 2, self.right),
            )
            first = following


def window_strip(
    said: str, days: Days, windows: Sequence[Window], today: date | None = None, months: Sequence[str] = ()
) -> str:
    """Return the strip of windows or stages of one name as SVG; ``months`` are twelve names to stand under it."""
    drawing = Drawing(said, days.right)
    draw_strip(drawing, days, windows, HEIGHT / 2, today)
    drawing.height = HEIGHT
    if months:
        drawing.height = month_names(drawing, days, months, HEIGHT)
    return drawing.svg()


def draw_strip(
    drawing: Drawing, days: Days, windows: Sequence[Window], middle: float, today: date | None
) -> None:
    """Draw a rule with a tick at each month, the windows on it, and today."""
    ticks = [(begin, middle + up) for _, begin, _ in days.months() for up in (-4.0, 4.0, nan)]
    drawing.line([(days.left, middle), (days.right, middle), (nan, nan), *ticks], "rule")
    for window in windows:
        height = (MARK if window.closes is None else BAR) / 2
        _draw_shade(drawing, days, shade(days, window), middle - height, middle + height)
        if window.closes is None and days.start <= window.opens.likely <= days.end:
            x = days.x(window.opens.likely)
            drawing.line([(x, middle - 9), (x, middle + 9)], width=2.2)
        _arrows(drawing, days, window, middle)
    if today is not None:
        mark_today(drawing, days, today, middle - HEIGHT / 2, middle + HEIGHT / 2)


def mark_today(drawing: Drawing, days: Days, today: date, top: float, bottom: float) -> None:
    """Draw today's mark, a line under a small wedge."""
    if days.start <= today <= days.end:
        x = days.x(today)
        drawing.line([(x, top), (x, bottom)], "accent", 2.2)
        drawing.area([(x - 4.5, top), (x + 4.5, top), (x, top + 7)], 1.0, "accent")


def shade(days: Days, window: Window) -> list[Point]:
    """Return places with how dark a window is there: the share of years in which it is open, that of a stage about its day.

    A window is never fainter than can be seen from its earliest opening to its latest closing.
    """
    half, opens, chance = days.wide / 2, window.opens, window.chance * STRONGEST
    if window.closes is None:
        before, after = days.x(opens.early) - half, days.x(opens.late) + half
        return [(before, 0.1 * chance), (days.x(opens.likely), chance), (after, 0.1 * chance)]
    opened, closed = _comes(days, opens), _comes(days, window.closes)
    first, last = opened[0][0], closed[-1][0]
    places = sorted({x for x, _ in (*opened, *closed) if first <= x <= last})
    return [(x, max(_share(opened, x) - _share(closed, x), FAINT) * chance) for x in places]


def _comes(days: Days, comes: Range) -> list[Point]:
    """Return the share of years in which a day has come, from the morning of the early day to the evening of the late."""
    half = days.wide / 2
    return [
        (days.x(comes.early) - half, 0.0),
        (days.x(comes.likely), 0.5),
        (days.x(comes.late) + half, 1.0),
    ]


def _share(comes: Sequence[Point], x: float) -> float:
    return float(x > comes[-1][0]) if (share := along(comes, x)) is None else share


def _draw_shade(drawing: Drawing, days: Days, stops: Sequence[Point], top: float, bottom: float) -> None:
    """Draw a bar as dark as its stops say, cut at the ends of the axis."""
    if len(stops) < 2:
        return
    left, right = max(stops[0][0], days.left), min(stops[-1][0], days.right)
    cut = [
        (left, along(stops, left) or 0.0),
        *((x, strength) for x, strength in stops if left < x < right),
        (right, along(stops, right) or 0.0),
    ]
    drawing.soft(Box(left, top, right, bottom), cut)


def _arrows(drawing: Drawing, days: Days, window: Window, middle: float) -> None:
    """Draw arrows at the ends of the axis past which a window goes on."""
    for x, way, goes_on in (
        (days.left, -1, window.opens.early < days.start and window.last.late >= days.start),
        (days.right, 1, window.last.late > days.end and window.opens.early <= days.end),
    ):
        if goes_on:
            base = x - way * ARROW
            drawing.area([(base, middle - 5), (base, middle + 5), (x, middle)], 1.0)


def month_names(drawing: Drawing, days: Days, names: Sequence[str], top: float, ink: Ink = "quiet") -> float:
    """Set the names of months, every second or third where it is narrow; return where they end."""
    months = list(days.months())
    room = max(end - begin for _, begin, end in months)
    widest = max(map(width_of, names))
    step = next((n for n in (1, 2, 3, 4, 6) if widest + 4 <= n * room), 12)
    free = days.left
    for place, (first, begin, end) in enumerate(months[::step]):
        name = names[first.month - 1]
        left = begin + 2 if step > 1 else (begin + end - width_of(name)) / 2
        following = months[step * (place + 1)][1] if step * (place + 1) < len(months) else days.right + 8
        if left >= free - 2 and left + width_of(name) <= following + 2:
            drawing.text(left, top + 15, name, ink=ink)
            free = left + width_of(name) + 4
    return top + MONTH + 2
