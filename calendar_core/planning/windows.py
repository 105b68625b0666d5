"""Windows: from the moments that open and close a work to a chance and ranges, for many trees at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.anchors import limits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from calendar_core.planning.anchors import Cycle, Limit
    from calendar_core.species.schema import Work

    Floats = NDArray[np.float64]

QUANTILES = (0.1, 0.5, 0.9)


@dataclass(frozen=True)
class Window:
    """One work in one cycle: the moment that opens it and the candidates that close it."""

    work: Work
    opens: Limit
    closing: Sequence[Limit]

    @property
    def closes(self) -> Floats:
        """Labels of the earliest closing limit."""
        labels = self.closing[0].labels
        for limit in self.closing[1:]:
            labels = np.minimum(labels, limit.labels)
        return labels


def window(work: Work, at: Cycle) -> Window:
    """Return the window of a work in a cycle; a stage it must come after holds its opening back."""
    opens = limits(work.opens, work, at)[0]
    if work.requires.after_stage is not None:
        opens = replace(opens, labels=np.maximum(opens.labels, at.stages[work.requires.after_stage]))
    return Window(work, opens, [one for anchor in work.closes for one in limits(anchor, work, at)])


@dataclass(frozen=True, order=True)
class Variant:
    """What of a tree changes a window: its group, the day before which it must not open, its share of the window."""

    group: int
    not_before: float = -np.inf
    half: str = "whole"  # "first" and "second" split the window by size


@dataclass(frozen=True)
class Summary:
    """Per variant: the chance, quantiles (3, n) of opening and closing, and which closing limit binds most often."""

    chance: Floats
    opens: Floats
    closes: Floats
    binding: NDArray[np.intp]


def summarise(one: Window, variants: Sequence[Variant], *, today: int, end: int) -> Summary:
    """Return chance and ranges of a window for each variant.

    A member has the window if it opens before it closes and has not closed before ``today``. Quantiles
    are over the members that have it. Closing never happening is read as ``end``, the last index.
    """
    groups = np.array([v.group for v in variants])
    opens, closes = _of(one.opens.labels, groups), np.minimum(_of(one.closes, groups), float(end))
    bounds = np.stack(np.broadcast_arrays(*(_of(limit.labels, groups) for limit in one.closing)))
    opens, closes = np.broadcast_arrays(opens, closes)
    middle = (opens + closes) / 2
    halves = np.array([v.half for v in variants])[None, :, None]
    closes = np.where(halves == "first", middle, closes)
    opens = np.where(halves == "second", middle, opens)
    opens = np.maximum(opens, np.array([v.not_before for v in variants])[None, :, None])
    has = (opens < closes) & (closes > today - 1)
    flat = has.transpose(1, 0, 2).reshape(len(variants), -1)
    binding = np.array(
        [
            np.bincount(row.ravel(), minlength=len(one.closing)).argmax()
            for row in bounds.argmin(axis=0).transpose(1, 0, 2)
        ]
    )
    binding = np.broadcast_to(binding, (len(variants),)) if binding.size == 1 else binding
    return Summary(flat.mean(axis=1), quantiles(opens, has), quantiles(closes, has), binding)


def _of(labels: Floats, groups: NDArray[np.intp]) -> Floats:
    return labels if labels.shape[1] == 1 else labels[:, groups, :]


def quantiles(labels: Floats, has: NDArray[np.bool_]) -> Floats:
    """Return the 10, 50 and 90 % quantiles (3, n) of ``labels`` (n_traces, n, n_draws) where ``has``; inf where none."""
    flat = np.where(has, labels, np.inf).transpose(1, 0, 2).reshape(has.shape[1], -1)
    flat = np.sort(flat.astype(np.float32), axis=1)
    count = has.sum(axis=(0, 2))
    rows = np.arange(flat.shape[0])
    return np.stack(
        [flat[rows, np.rint(q * np.maximum(count - 1, 0)).astype(int)] for q in QUANTILES]
    ).astype(float)
