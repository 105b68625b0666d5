"""Where labels stand: at what they name where there is room, else in a row beneath."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.publishing.pictures.drawing import Box, box_of
from calendar_core.publishing.pictures.letters import SIZE, width_of, wrapped

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from calendar_core.publishing.pictures.drawing import Drawing, Ink, Point

LEAD = 19.0  # from line to line of text
GAP = 7.0  # least between two texts on one line
PIECE = 26.0  # how much of a line is shown beside its words
_CROSSED = 10  # so many points of curves, 4 apart, are borne under a label (by eye)


@dataclass(frozen=True, slots=True)
class Label:
    """Words for a place on an axis, under one another; the first are bold where there are two."""

    x: float
    words: tuple[str, ...]


def stand_at(
    drawing: Drawing,
    text: str,
    places: Iterable[Point],
    room: Box,
    curves: Sequence[Point],
    *,
    bold: bool = False,
) -> bool:
    """Set a label, centred over the first of some places where it hides least; tell whether there was room for any."""
    best: tuple[int, Point] | None = None
    half = width_of(text, bold=bold) / 2
    if 2 * half > room.right - room.left:
        return False
    for x, y in places:
        middle = min(max(x, room.left + half), room.right - half)
        box = box_of(middle, y, text, "middle", bold=bold)
        if box.top < room.top or box.bottom > room.bottom:
            continue
        if any(box.meets(other, GAP) for other in drawing.boxes):
            continue
        crossed = sum(box.holds(point) for point in curves)
        if best is None or crossed < best[0]:
            best = crossed, (middle, y)
    if best is None or best[0] > _CROSSED:
        return False
    drawing.text(*best[1], text, "middle", bold=bold)
    return True


def under_axis(drawing: Drawing, labels: Sequence[Label], top: float, ink: Ink = "ink") -> float:
    """Set labels under an axis, one under the other where they would meet; return where the last of them ends."""
    most, bottom = drawing.width, top
    for label in sorted(labels, key=lambda label: label.x):
        told = [
            (line, place == 0 < len(label.words) - 1)
            for place, words in enumerate(label.words)
            for line in wrapped(words, most / 2, bold=place == 0 < len(label.words) - 1)
        ]
        half = max((width_of(line, bold=bold) for line, bold in told), default=0.0) / 2
        x = min(max(label.x, half), most - half)
        y = top + SIZE
        while any(
            box_of(x, y + LEAD * n, line, "middle", bold=bold).meets(other, GAP)
            for n, (line, bold) in enumerate(told)
            for other in drawing.boxes
        ):
            y += LEAD / 2
        for n, (line, bold) in enumerate(told):
            drawing.text(x, y + LEAD * n, line, "middle", ink, bold=bold)
        bottom = max(bottom, y + LEAD * len(told) - SIZE + 2)
    return bottom


@dataclass(frozen=True, slots=True)
class Sample:
    """What a line means, or an area of some strength."""

    text: str
    dashes: str = ""
    area: float = 0.0


def in_rows(drawing: Drawing, samples: Iterable[Sample], top: float, width: float | None = None) -> float:
    """Tell what lines and areas mean, each beside a piece of it, so wide; return where that ends."""
    y = top
    for sample in samples:
        for place, line in enumerate(wrapped(sample.text, (width or drawing.width) - PIECE - GAP)):
            y += LEAD
            if place == 0:
                _piece(drawing, sample, y)
            drawing.text(PIECE + GAP, y, line)
    return y + 5 if y > top else top


def _piece(drawing: Drawing, sample: Sample, y: float) -> None:
    top, bottom = y - 11, y + 1
    if not sample.area:
        drawing.line([(0.0, y - 5), (PIECE, y - 5)], width=2.0, dashes=sample.dashes)
        return
    drawing.block(Box(0.0, top, PIECE, bottom), sample.area)
    for edge in (top, bottom) if sample.dashes else ():
        drawing.line([(0.0, edge), (PIECE, edge)], dashes=sample.dashes)
