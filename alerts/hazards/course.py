"""Courses of one hazard to several trees, hour by hour, and the lines they are held against."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from alerts.air.hours import Clock
    from alerts.hazards.stand import Lines
    from calendar_core.knowledge.words import Hazard

    Floats = NDArray[np.float64]

BAD_COURSES = 10  # the bad course is that of one in so many


def middle_and_bad(n_members: int) -> tuple[int, int]:
    """Return the ranks of the middle and the bad course among members ordered from mild to bad.

    The middle one is the worse of two, the bad one the mildest of the worst tenth: it reaches a line where at least
    one course in ten does.

    Examples
    --------
    >>> middle_and_bad(20), middle_and_bad(1)
    ((10, 18), (0, 0))
    """
    return n_members // 2, n_members - -(-n_members // BAD_COURSES)


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """A hazard to trees.

    ``values`` (n_stands or 1, n_members or 1, n_hours) are worse the higher, or, where ``falling``, the lower.
    ``lines`` (n_stands, n_days or 1, 2) are those of caution and danger, infinitely far where nothing can be
    harmed; ``reasons`` (n_stands) is what moved them, each day's or one for all. ``near`` is how near the line of
    caution a middle course is told. ``days`` are those of the hazard: a night's begin at noon. ``deep`` is what the
    line of danger is held against, ``nan`` for trees of which it is ``values``; None where it is for all.
    """

    hazard: Hazard
    values: Floats
    lines: Floats
    reasons: Sequence[Sequence[tuple[str, ...]]]
    near: float
    days: Clock
    falling: bool = False
    deep: Floats | None = None

    def only(self, known: NDArray[np.bool_]) -> Course:
        """Return the courses with the hours that are not ``known`` (1, n_hours) infinitely far from harm."""
        if known.all():
            return self
        far = np.inf if self.falling else -np.inf
        deep = None if self.deep is None else np.where(known | np.isnan(self.deep), self.deep, far)
        return replace(self, values=np.where(known, self.values, far), deep=deep)


def column(values: Iterable[float]) -> Floats:
    """Return one value for each tree, (n_stands, 1, 1)."""
    return np.array(list(values), dtype=np.float64)[:, None, None]


def lines_of(found: Sequence[Lines | None], *, falling: bool = False) -> Floats:
    """Return lines (n_stands, 1, 2), infinitely far where there are none."""
    far = -np.inf if falling else np.inf
    return np.array([[(far, far) if lines is None else (lines.caution, lines.danger)] for lines in found])


def reasons_of(found: Sequence[Lines | None]) -> list[list[tuple[str, ...]]]:
    """Return the reasons of lines that hold on all days."""
    return [[() if lines is None else lines.reasons] for lines in found]
