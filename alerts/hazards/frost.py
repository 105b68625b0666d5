"""Frost on leaves and buds, which on clear, calm nights are colder than the air; and chill."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from alerts.hazards.course import Course, column, lines_of, reasons_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from alerts.hazards.place import Weather
    from alerts.hazards.stand import Stand

    Floats = NDArray[np.float64]


def frost(stands: Sequence[Stand], at: Weather, leaf: Floats) -> Course:
    """Return leaf or bud temperature against the lines of frost; wet from rain, they cool to the wet bulb.

    Of trees that chill it is that of the air, for which growers tell their lines.

    Source: `science.hour.leaf` and `science.hour.humidity.wet_bulb_c`.
    """
    own = [stand.frost for stand in stands]
    by_air = column(stand.chills for stand in stands) > 0.0
    return Course(
        "frost",
        np.where(by_air, at.t_c, np.minimum(leaf, at.wet_c)),
        lines_of(own, falling=True),
        reasons_of(own),
        at.rules.near.c.value,
        at.nights,
        falling=True,
    )
