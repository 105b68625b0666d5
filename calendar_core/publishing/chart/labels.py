"""Names of curves, each set beside its curve where it covers least of the others."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.publishing.chart.sheet import MUTED, width_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calendar_core.publishing.chart.sheet import Face, Sheet

CELL = 2.0  # points; about as fine as the lines are apart
PADDING = 2.0
ANCHOR_STEP = 5  # a name may hang on every fifth point of its curve
DISTANCES = (4.0, 10.0, 18.0, 28.0, 40.0, 56.0, 76.0, 100.0)  # points from the curve
NEAR = 7.0  # a name farther off than this is joined to its curve by a leader
SIDES = np.array([side for side in product((-1.0, -0.5, 0.0, 0.5, 1.0), repeat=2) if 1.0 in np.abs(side)])
OBSTACLE = 3.0  # the weight of what no name should cover: other names, their leaders, today's line
# What a cell of ink under a name, and one under its leader, costs in points of distance.
COVERED, CROSSED = 100.0, 30.0


class LabelPlacer:
    """What stands in a panel so far, lines as ink on a grid and names as boxes, and where the next name fits.

    Boxes are left, top, right, bottom in points, y downwards; ``frame`` is the panel's.
    """

    def __init__(self, frame: tuple[float, float, float, float]) -> None:
        self.frame = np.array(frame)
        self.boxes: list[NDArray[np.float64]] = []
        columns, rows = np.ceil((self.frame[2:] - self.frame[:2]) / CELL).astype(int)
        self._ink = np.zeros((rows, columns))

    def add_line(self, x: NDArray[np.float64], y: NDArray[np.float64], weight: float = 1.0) -> None:
        """Tell of a line that names should keep clear of, the more the heavier it is."""
        points = np.column_stack([np.ravel(x), np.ravel(y)])
        rows, columns = self._cells(points[np.isfinite(points).all(axis=1)])
        np.maximum.at(self._ink, (rows, columns), weight)

    def add_box(self, left: float, top: float, right: float, bottom: float) -> None:
        """Tell of text that no name may cover and no leader cross."""
        box = np.array([left, top, right, bottom])
        self.boxes.append(box)
        rows, columns = self._cells(box.reshape(2, 2))
        self._ink[rows[0] : rows[1] + 1, columns[0] : columns[1] + 1] = OBSTACLE

    def name(
        self, sheet: Sheet, text: str, face: Face, x: NDArray[np.float64], y: NDArray[np.float64]
    ) -> None:
        """Set ``text`` beside the curve through the points; nothing where there is no curve or no room."""
        points = np.column_stack([x, y])[np.isfinite(y)][::ANCHOR_STEP]
        boxes, anchors = self._candidates(np.array([width_of(text, face), face.size]), points)
        if not text or not len(boxes):
            return
        ends = np.clip(anchors, boxes[:, :2], boxes[:, 2:])
        lengths = np.hypot(*(ends - anchors).T)
        crossed = np.where(lengths > NEAR, self._crossed(anchors, ends), 0.0)
        best = int(np.argmin(lengths + COVERED * self._covered(boxes) + CROSSED * crossed))
        sheet.text(boxes[best, 0], boxes[best, 3] - 0.26 * face.size, text, face)
        if lengths[best] > NEAR:
            (x0, y0), (x1, y1) = ends[best], anchors[best]
            sheet.line((x0, x1), (y0, y1), MUTED, 0.6, zorder=7.5)  # below the ground of numbers
            self.add_line(np.linspace(x0, x1, 60), np.linspace(y0, y1, 60), OBSTACLE)
        self.add_box(*boxes[best])

    def _candidates(
        self, size: NDArray[np.float64], points: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return the boxes by the points that are in the frame and clear of other names, and those points."""
        offsets = [side * away - size * (1 - side) / 2 for away in DISTANCES for side in SIDES]
        corners = (points[:, None, :] + np.array(offsets)).reshape(-1, 2)
        anchors = np.repeat(points, len(offsets), axis=0)
        boxes = np.hstack([corners, corners + size])
        free = (boxes[:, :2] >= self.frame[:2]).all(axis=1) & (boxes[:, 2:] <= self.frame[2:]).all(axis=1)
        for other in self.boxes:
            apart = (boxes[:, 2:] + PADDING <= other[:2]) | (other[2:] <= boxes[:, :2] - PADDING)
            free &= apart.any(axis=1)
        return boxes[free], anchors[free]

    def _cells(self, points: NDArray[np.float64]) -> tuple[NDArray[np.int_], NDArray[np.int_]]:
        """Return the row and column of the grid under each point; points off the panel count at its edge."""
        cells = ((points - self.frame[:2]) / CELL).astype(int)
        rows, columns = self._ink.shape
        return np.clip(cells[..., 1], 0, rows - 1), np.clip(cells[..., 0], 0, columns - 1)

    def _covered(self, boxes: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the ink under each box and its padding, from sums over the grid."""
        sums = np.pad(self._ink, ((1, 0), (1, 0))).cumsum(axis=0).cumsum(axis=1)
        top, left = self._cells(boxes[:, :2] - PADDING)
        bottom, right = self._cells(boxes[:, 2:] + PADDING)
        bottom, right = bottom + 1, right + 1
        return np.asarray(sums[bottom, right] - sums[top, right] - sums[bottom, left] + sums[top, left])

    def _crossed(self, anchors: NDArray[np.float64], ends: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the ink under each leader, short of the curve it leads to."""
        steps = np.linspace(0.2, 1.0, 24)[:, None, None]
        rows, columns = self._cells(anchors + steps * (ends - anchors))
        return np.asarray(self._ink[rows, columns].sum(axis=0))
