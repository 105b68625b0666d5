"""What the weather is to the people who work: heat by the hours of their work, and ice on paths."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from alerts.air.hours import clock
from alerts.hazards.course import BAD_COURSES, middle_and_bad
from alerts.hazards.place import recent
from calendar_core.science.hour.heat_index import heat_index_c
from calendar_core.science.hour.humidity import humidity_percent

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from alerts.air.hours import Hours, Place
    from calendar_core.knowledge.forms.exposure import Exposure

    Floats = NDArray[np.float64]

Band = Literal["none", "caution", "extreme caution", "danger", "extreme danger"]
# National Weather Service, heat index chart: 80, 90, 103 and 125 degF.
BANDS: tuple[tuple[float, Band], ...] = (
    (26.7, "caution"),
    (32.2, "extreme caution"),
    (39.4, "danger"),
    (51.7, "extreme danger"),
)


@dataclass(frozen=True, slots=True)
class HeatStrain:
    """The hours of some work: heat index [degC] in shade in the middle and the bad course, and its band by the bad one.

    ``ice`` tells whether paths may be icy in at least one course of ten.
    """

    typical_c: float
    bad_c: float
    band: Band
    ice: bool


def feels_c(hours: Hours) -> Floats:
    """Return the heat index [degC] in shade, (n_members, n_hours).

    Source: as `science.hour.heat_index`.
    """
    humid = np.clip(humidity_percent(hours.t_c, hours.vapour_kpa), 0.0, 100.0)
    return heat_index_c(hours.t_c, humid)


def icy(hours: Hours, rules: Exposure) -> NDArray[np.bool_]:
    """Tell where it freezes on paths wet from rain, (n_members, n_hours).

    Source: estimate; how long paths stay wet stands in config/exposure.toml.
    """
    wet = recent(hours.rain_mm, round(rules.wet.paths_h.value)) > 0.0
    return np.asarray(wet & (hours.t_c <= 0.0))


def band(heat_index: float) -> Band:
    """Return the band of a heat index [degC].

    Examples
    --------
    >>> band(40.5), band(20.0)
    ('danger', 'none')
    """
    reached: list[Band] = [name for least, name in BANDS if heat_index >= least]
    return reached[-1] if reached else "none"


def strain(
    hours: Hours, place: Place, rules: Exposure, day: date, from_h: float, to_h: float
) -> HeatStrain | None:
    """Return what work between two clock hours of a day meets, None where the forecast does not hold them."""
    days = clock(hours, place)
    if day not in days.days:
        return None
    of_day = np.zeros(len(hours), dtype=np.bool_)
    k = days.days.index(day)
    of_day[days.first[k] : days.first[k + 1] if k + 1 < len(days.first) else None] = True
    work = of_day & (days.hour + 1.0 > from_h) & (days.hour < to_h)
    if not work.any():
        return None
    worst = np.sort(feels_c(hours)[:, work].max(axis=-1))
    middle, bad = (float(worst[rank]) for rank in middle_and_bad(len(worst)))
    ice = icy(hours, rules)[:, work].any(axis=-1).mean() >= 1.0 / BAD_COURSES
    return HeatStrain(middle, bad, band(bad), bool(ice))
