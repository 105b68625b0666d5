"""Spells: days in a row on which something holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Bools = NDArray[np.bool_]

FAR = 1 << 30  # later than any day of an axis


def first(days: Bools, begin: int) -> int | None:
    """Return the first day from ``begin`` on, None if there is none.

    >>> first(np.array([True, False, True]), 1)
    2
    """
    begin = max(begin, 0)
    ahead = days[begin:]
    return begin + int(ahead.argmax()) if ahead.any() else None


def runs(days: Bools) -> NDArray[np.intp]:
    """Return how many days in a row begin with each, as far as the axis goes; a run at its end goes on.

    >>> runs(np.array([True, True, False, True])).tolist() == [2, 1, 0, FAR]
    True
    """
    n = len(days)
    stops = np.where(days, FAR, np.arange(n))
    nearest = np.minimum.accumulate(stops[::-1])[::-1]
    return np.where(nearest == FAR, FAR, nearest - np.arange(n))


def starts(days: Bools) -> NDArray[np.intp]:
    """Return for each day the first of the run it lies in; its own index where it lies in none.

    >>> starts(np.array([False, True, True, False, True])).tolist()
    [0, 1, 1, 3, 4]
    """
    index = np.arange(len(days))
    before = np.concatenate([[False], days[:-1]])
    return np.maximum.accumulate(np.where(days & before, 0, index))


def closed(days: Bools, gap: int) -> Bools:
    """Return days with the pauses between them of less than ``gap`` days filled.

    >>> closed(np.array([True, False, True, False, False, True]), 2).tolist()
    [True, True, True, False, False, True]
    """
    index = np.arange(len(days))
    before = np.maximum.accumulate(np.where(days, index, -FAR))
    after = np.minimum.accumulate(np.where(days, index, FAR)[::-1])[::-1]
    return np.asarray(days | (after - before <= gap))
