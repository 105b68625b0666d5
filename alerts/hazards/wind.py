"""Wind that breaks twigs and throws pots, and hail: simple lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from alerts.hazards.course import Course, lines_of, reasons_of
from alerts.hazards.stand import Lines

if TYPE_CHECKING:
    from collections.abc import Sequence

    from alerts.hazards.place import Weather
    from alerts.hazards.stand import Stand


def wind(stands: Sequence[Stand], at: Weather) -> Course:
    """Return gusts, as a tree of normal shelter would feel them."""
    rules = at.rules.wind.gust_ms
    lines = [Lines(rules.caution, rules.danger)] * len(stands)
    return Course(
        "wind", at.gust_ms[None], lines_of(lines), reasons_of(lines), at.rules.near.ms.value, at.clock
    )


def hail(stands: Sequence[Stand], at: Weather) -> Course:
    """Return hail as 1, its absence as 0; any hail passes both lines."""
    lines = [Lines(1.0, 1.0)] * len(stands)
    return Course("hail", at.hail[None].astype(np.float64), lines_of(lines), reasons_of(lines), 0.0, at.clock)
