"""A drawing that is put together piece by piece: lines, areas with soft edges, hatching and text, as SVG."""

from __future__ import annotations

from dataclasses import dataclass, field
from hashlib import blake2s
from html import escape
from itertools import pairwise
from math import isfinite
from typing import TYPE_CHECKING, Literal

from calendar_core.publishing.pictures.letters import CAP, DROP, SIZE, width_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    Point = tuple[float, float]

Ink = Literal["ink", "quiet", "rule", "night", "accent"]
"""Classes that a page gives a colour; without a page's style all are the colour of its text."""
Anchor = Literal["start", "middle", "end"]
PHONE, DESK = 346.0, 760.0
"""Widths: that of a phone's page, where a unit is a pixel, and one for a desk."""
_KEY = "\0"  # stands for what tells the names of this picture from those of others on the page


@dataclass(frozen=True, slots=True)
class Scale:
    """Values from ``low`` to ``high`` laid out from one place to another."""

    low: float
    high: float
    begin: float
    end: float

    def at(self, value: float) -> float:
        """Return the place of a value, those beyond the ends beyond them."""
        return self.begin + (value - self.low) / ((self.high - self.low) or 1.0) * (self.end - self.begin)

    def within(self, value: float) -> float:
        """Return the place of a value, those beyond the ends at them."""
        return self.at(min(max(value, self.low), self.high))


@dataclass(frozen=True, slots=True)
class Box:
    """The room a text may take."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box, gap: float = 0.0) -> bool:
        """Tell whether two come nearer to each other than ``gap``."""
        return (
            self.left < other.right + gap
            and other.left < self.right + gap
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def holds(self, point: Point) -> bool:
        """Tell whether a point lies within."""
        return self.left <= point[0] <= self.right and self.top <= point[1] <= self.bottom


def box_of(x: float, y: float, text: str, anchor: Anchor = "start", *, bold: bool = False) -> Box:
    """Return the room of a line of text whose baseline is at ``y``."""
    width = width_of(text, bold=bold)
    left = x - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
    return Box(left, y - CAP * SIZE, left + width, y + DROP * SIZE)


@dataclass
class Drawing:
    """A drawing of some width; ``said`` is what it shows in words, for those who hear the page."""

    said: str
    width: float = PHONE
    height: float = 0.0
    boxes: list[Box] = field(default_factory=list)
    _pieces: list[str] = field(default_factory=list)
    _kept: list[str] = field(default_factory=list)

    def line(
        self, points: Iterable[Point], ink: Ink = "ink", width: float = 1.0, *, dashes: str = ""
    ) -> None:
        """Draw a line through points; one without a number lifts the pen."""
        path, down = "", False
        for x, y in points:
            known = isfinite(x) and isfinite(y)
            if known:
                path += f"{'L' if down else 'M'}{number(x)} {number(y)}"
            down = known
        if path:
            dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
            self._pieces.append(
                f'<path class="{ink}" d="{path}" fill="none" stroke="currentColor" stroke-width="{width:g}"'
                f'{dashed} stroke-linejoin="round"/>'
            )

    def area(self, points: Sequence[Point], strength: float, ink: Ink = "ink") -> None:
        """Fill a closed area, the stronger the darker."""
        if len(points) > 2:
            path = "L".join(f"{number(x)} {number(y)}" for x, y in points)
            self._pieces.append(
                f'<path class="{ink}" d="M{path}Z" fill="currentColor" fill-opacity="{strength:g}"/>'
            )

    def block(self, box: Box, strength: float, ink: Ink = "ink") -> None:
        """Fill a rectangle."""
        self._rect(box, f'class="{ink}" fill="currentColor" fill-opacity="{strength:g}"')

    def hatched(self, box: Box) -> None:
        """Hatch a rectangle."""
        name = self._keep(
            '<pattern id="{name}" width="7" height="7" patternUnits="userSpaceOnUse" '
            'patternTransform="rotate(45)"><path class="hatch" d="M0 0V7" stroke="currentColor" '
            'stroke-width="1.6" stroke-opacity="0.55"/></pattern>'
        )
        self._rect(box, f'fill="url(#{name})"')

    def soft(self, box: Box, stops: Sequence[Point], ink: Ink = "ink") -> None:
        """Fill a rectangle as dark as its stops say, which are places from left to right with strengths."""
        wide = box.right - box.left
        if wide <= 0:
            return
        told = "".join(
            f'<stop offset="{min(max((x - box.left) / wide, 0.0), 1.0):.4f}" stop-color="currentColor" '
            f'stop-opacity="{strength:.3f}"/>'
            for x, strength in stops
        )
        name = self._keep(f'<linearGradient id="{{name}}" class="{ink}">{told}</linearGradient>')
        self._rect(box, f'fill="url(#{name})"')

    def dot(self, x: float, y: float, radius: float = 3.0, ink: Ink = "ink", *, hollow: bool = False) -> None:
        """Draw a dot."""
        fill = 'fill="none" stroke="currentColor" stroke-width="1.5"' if hollow else 'fill="currentColor"'
        self._pieces.append(
            f'<circle class="{ink}" cx="{number(x)}" cy="{number(y)}" r="{radius:g}" {fill}/>'
        )

    def text(
        self, x: float, y: float, text: str, anchor: Anchor = "start", ink: Ink = "ink", *, bold: bool = False
    ) -> None:
        """Set a line of text with its baseline at ``y``; its edge keeps off what is beneath."""
        if not text.strip():
            return
        self.boxes.append(box_of(x, y, text, anchor, bold=bold))
        told = f' text-anchor="{anchor}"' if anchor != "start" else ""
        told += ' font-weight="bold"' if bold else ""
        self._pieces.append(
            f'<text class="{ink} halo" x="{number(x)}" y="{number(y)}" fill="currentColor"{told}>{escape(text)}</text>'
        )

    def svg(self) -> str:
        """Return the drawing as an element to be put into a page."""
        kept = f"<defs>{''.join(self._kept)}</defs>" if self._kept else ""
        drawn = kept + "".join(self._pieces)
        # Pictures that are alike to the last line may share names: what they name is alike too.
        key = blake2s(f"{self.width} {self.height} {drawn}".encode(), digest_size=5).hexdigest()
        said = escape(self.said)
        return (
            f'<svg class="picture" xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{said}" width="100%" '
            f'viewBox="0 0 {number(self.width)} {number(self.height)}" font-size="{SIZE:g}">'
            f"{drawn.replace(_KEY, f'p{key}')}</svg>"
        )

    def _keep(self, piece: str) -> str:
        """Keep what others name, once; return its name."""
        known = [kept.replace(self._name(n), "{name}") for n, kept in enumerate(self._kept)]
        if piece in known:
            return self._name(known.index(piece))
        name = self._name(len(self._kept))
        self._kept.append(piece.replace("{name}", name))
        return name

    @staticmethod
    def _name(n: int) -> str:
        return f"{_KEY}-{n}-"

    def _rect(self, box: Box, how: str) -> None:
        if box.right > box.left and box.bottom > box.top:
            self._pieces.append(
                f'<rect x="{number(box.left)}" y="{number(box.top)}" width="{number(box.right - box.left)}" '
                f'height="{number(box.bottom - box.top)}" {how}/>'
            )


def along(points: Sequence[Point], x: float) -> float | None:
    """Return how high a line through points is at a place, None beyond its ends; places rise.

    >>> along([(0, 0), (10, 5)], 4), along([(0, 0), (10, 5)], 11)
    (2.0, None)
    """
    for (before, low), (after, high) in pairwise(points):
        if before <= x <= after:
            return low if after == before else low + (x - before) / (after - before) * (high - low)
    return None


def number(value: float) -> str:
    """Return a place to a tenth of a unit.

    Raises
    ------
    ValueError
        It is not a number.

    >>> number(3.0), number(-0.04), number(12.345)
    ('3', '0', '12.3')
    """
    if not isfinite(value):
        raise ValueError(f"{value} is no place in a picture; right would be a number")
    return f"{round(value, 1) + 0.0:g}"
