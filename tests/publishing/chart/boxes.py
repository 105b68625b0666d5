"""Where the words and strips of a drawn sheet lie, and which of them meet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    Boxes = NDArray[np.float64]


def crowding(figure: Figure) -> list[tuple[str, str]]:
    """Return the pairs of texts that meet, and those that leave the sheet beside an empty one."""
    said, boxes = _texts(figure)
    pairs = [(said[a], said[b]) for a, b in np.argwhere(np.triu(_meet(boxes, boxes), k=1))]
    off = (boxes[:, :2] < 10).any(axis=1) | (boxes[:, 2:] > np.subtract(figure.bbox.max, 10)).any(axis=1)
    return pairs + [(said[text], "") for text in np.flatnonzero(off)]


def crossings(figure: Figure) -> list[str]:
    """Return the texts that lie on a strip, and strips that lie on another one."""
    said, boxes = _texts(figure)
    strips = _strips(figure)
    on = [said[text] for text, _ in np.argwhere(_meet(boxes, strips))]
    return on + ["strips"] * int(np.triu(_meet(strips, strips), k=1).sum())


def _texts(figure: Figure) -> tuple[list[str], Boxes]:
    figure.set_dpi(72)
    with mpl.rc_context({"text.hinting": "none"}):
        renderer = FigureCanvasAgg(figure).get_renderer()  # type: ignore[no-untyped-call]  # matplotlib's own
        found = [(text.get_text(), text.get_window_extent(renderer).extents) for text in figure.axes[0].texts]
    return [text for text, _ in found], np.array([box for _, box in found]).reshape(-1, 4)


def _strips(figure: Figure) -> Boxes:
    """Return the strips' boxes, a hair narrower than drawn, from below as texts are."""
    height = float(figure.bbox.height)
    found = [image.get_extent() for image in figure.axes[0].images]
    boxes = [
        (left + 0.1, height - bottom + 0.1, right - 0.1, height - top - 0.1)
        for left, right, bottom, top in found
    ]
    return np.array(boxes).reshape(-1, 4)


def _meet(some: Boxes, others: Boxes) -> NDArray[np.bool_]:
    apart = (some[:, None, :2] >= others[None, :, 2:]) | (others[None, :, :2] >= some[:, None, 2:])
    return np.asarray(~apart.any(axis=2))
