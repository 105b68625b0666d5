"""Forecasts that err: real hours, and on top of them the errors of a world that is not what the program believes.

What is known of these errors, and what is assumed:

- Temperature. Forecasts of Melbourne's maximum four days ahead miss by 2.0 degC in the mean (Stern 2008, Meteorol. Appl. 15:65), a
  standard deviation of 2.5. Those of the next day miss by more than 5 degC on fewer than five days a year (Stern 2017,
  American Meteorological Society, 97th Annual Meeting, paper 2.4), which is 2.0 at most. 1.3 and 0.3 more a day obey both.
- Cloud, wind and dew point: assumptions, larger than what the program believes; of dew point it believes no error.
- An error fades from hour to hour, as an autoregressive process, and forecasts of the same hour share part of it: assumptions. Here
  the older of two forecasts is the better one in 47 % of cases. By the guide to the forecasts of the European Centre (ECMWF, on
  jumpiness) it is in 15 % two days and in 40 % six days ahead: forecasts flicker more here than there.
- The four err apart, and errors do not know the weather: assumptions. On a hot day such a forecast is too hot as
  often as too cool; one drawn towards the usual weather, as services make them, is more often too cool.

All errors can be scaled, and what is assumed of time can be varied.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from calendar_core.science.hour.humidity import dew_point_c, saturation_kpa
from calendar_core.science.hour.sunlight import clear_sky, under_cloud

if TYPE_CHECKING:
    from datetime import datetime

    from numpy.typing import NDArray

    from alerts.air.hours import Hours, Place

    Floats = NDArray[np.float64]

HORIZON_H = 72  # whoever warns looks 36 hours ahead
FIELDS = 4  # temperature, dew point, cloud, wind


class Sd(NamedTuple):
    """Standard deviation of an error: at once, what it grows by a day, and at most."""

    start: float
    per_day: float
    most: float

    def at(self, lead_days: Floats) -> Floats:
        return np.minimum(self.start + self.per_day * lead_days, self.most)


class World(NamedTuple):
    """How forecasts err; ``lasts_h`` is when an error has faded to a third, ``shared`` the part that runs share."""

    scale: float = 1.0
    lasts_h: float = 24.0
    shared: float = 0.6
    temperature_c: Sd = Sd(1.3, 0.3, 4.0)
    dew_point_c: Sd = Sd(1.5, 0.3, 4.0)
    cloud_percent: Sd = Sd(20.0, 5.0, 40.0)
    ln_wind: Sd = Sd(0.3, 0.05, 0.6)


@dataclass(frozen=True, eq=False)
class Forecasts:
    """The forecasts of a world for the hours that came, one course each; the same seed gives the same."""

    truth: Hours
    place: Place
    world: World
    seed: int

    @cached_property
    def _shared(self) -> Floats:
        return fading(np.random.default_rng((self.seed, 0)), len(self.truth), self.world.lasts_h)

    def issued(self, first: int, now: datetime) -> Hours:
        """Return the forecast made at ``now`` of the hours from the index ``first`` on."""
        world, end = self.world, first + HORIZON_H
        begin = self.truth.at(first)
        hours = self.truth.part(begin, self.truth.at(end))
        own = fading(np.random.default_rng((self.seed, 1, first, now.hour)), HORIZON_H, world.lasts_h)
        mixed = np.sqrt(world.shared) * self._shared[:, first:end] + np.sqrt(1.0 - world.shared) * own
        lead_days = np.maximum((np.arange(HORIZON_H) - (now - begin).total_seconds() / 3600.0) / 24.0, 0.0)
        growing = (world.temperature_c, world.dew_point_c, world.cloud_percent, world.ln_wind)
        off = [world.scale * sd.at(lead_days) * one for sd, one in zip(growing, mixed, strict=True)]
        return erred(replace(hours, issued=now), self.place, *off)


def fading(rng: np.random.Generator, n_hours: int, lasts_h: float) -> Floats:
    """Return errors of unit variance that fade from hour to hour, (FIELDS, n_hours)."""
    keep = np.exp(-1.0 / lasts_h)
    drawn = rng.standard_normal((n_hours, FIELDS))
    drawn[1:] *= np.sqrt(1.0 - keep**2)
    for hour in range(1, n_hours):
        drawn[hour] += keep * drawn[hour - 1]
    return np.asarray(drawn.T)


def erred(hours: Hours, place: Place, t_c: Floats, dew_c: Floats, cloud: Floats, ln_wind: Floats) -> Hours:
    """Return hours that are off by so much; sunlight follows cloud, and dew point stays below temperature."""
    air = hours.t_c + t_c
    covered = np.clip(hours.cloud_percent + cloud, 0.0, 100.0)
    sun = hours.sun(place)
    clear = clear_sky(sun.elevation_deg, sun.top_w_m2, hours.vapour_kpa, place.pressure_kpa).total_w_m2
    light = hours.sunlight_w_m2 * under_cloud(1.0, covered) / under_cloud(1.0, hours.cloud_percent)
    return replace(
        hours,
        t_c=air,
        vapour_kpa=saturation_kpa(np.minimum(dew_point_c(hours.vapour_kpa) + dew_c, air)),
        cloud_percent=covered,
        sunlight_w_m2=np.minimum(light, np.maximum(hours.sunlight_w_m2, clear)),
        wind_10m_ms=hours.wind_10m_ms * np.exp(ln_wind),
        gust_ms=hours.gust_ms * np.exp(ln_wind),
    )
