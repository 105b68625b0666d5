"""The weather at a spot: what of sun, sky, wind and rain reaches the trees that stand there."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from alerts.air.hours import Clock, Hours, Place, clock
from calendar_core.garden.thermal import THERMAL
from calendar_core.science.hour.evaporation import hourly_mm
from calendar_core.science.hour.humidity import wet_bulb_c
from calendar_core.science.hour.leaf import absorbed_w_m2, sky_emissivity
from calendar_core.science.hour.net_radiation import (
    MJ_PER_W_HOUR,
    clear_share_hour,
    ground_heat_hour,
    net_hour,
)
from calendar_core.science.hour.spot_light import at_spot, sky_view, sunny_by_clock, sunny_by_horizon
from calendar_core.science.hour.sun_path import sun_path
from calendar_core.science.hour.sunlight import Light, clear_sky, photons_umol, split
from calendar_core.science.hour.wind import wind_at

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import time

    from numpy.typing import NDArray

    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.forms.exposure import Exposure
    from calendar_core.science.hour.sun_path import Sun

    Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Weather:
    """The hours at a spot; arrays are (n_members or 1, n_hours) as in `Hours`, or a column of them.

    Under a roof there is no rain, hail or view of the sky; in a frame or house no wind either.
    """

    spot: Spot
    hours: Hours
    place: Place
    rules: Exposure
    sun: Sun
    clock: Clock
    nights: Clock

    @property
    def indoors(self) -> bool:
        """Whether it is a frame or a house."""
        return self.spot.profile != "open"

    @property
    def covered(self) -> bool:
        """Whether something is overhead."""
        return self.spot.roof or self.indoors

    @cached_property
    def day(self) -> NDArray[np.bool_]:
        """Whether the sun is up, (n_hours,)."""
        return np.asarray(self.sun.elevation_deg > 0.0)

    @cached_property
    def t_c(self) -> Floats:
        """Temperature of the air."""
        return self._felt(self.hours.t_c, self.day)

    @cached_property
    def day_before(self) -> NDArray[np.bool_]:
        """Whether the sun was up in the hours before the first, (n_before,)."""
        back = np.arange(-self.hours.before_c.shape[1], 0) * np.timedelta64(3600, "s")
        middle = self.hours.starts[:1] + back + np.timedelta64(1800, "s")
        return np.asarray(sun_path(self.place.latitude, self.place.longitude, middle).elevation_deg > 0.0)

    @cached_property
    def before_c(self) -> Floats:
        """Temperature of the air in the hours before the first, (n_members or 1, n_before)."""
        return self._felt(self.hours.before_c, self.day_before)

    def _felt(self, t_c: Floats, day: NDArray[np.bool_]) -> Floats:
        thermal = THERMAL[self.spot.profile]
        offset = np.where(day, thermal.day_offset_c, thermal.night_offset_c)
        return np.maximum(t_c + offset, thermal.floor_c)

    @cached_property
    def light_w_m2(self) -> Floats:
        """Sunlight on the level."""
        hours, spot, rules = self.hours, self.spot, self.rules.spot
        parts = split(hours.sunlight_w_m2, self.sun.elevation_deg, self.sun.top_w_m2)
        if self.indoors:
            through = rules.glass_light.value
            parts = Light(parts.direct_w_m2 * through, parts.diffuse_w_m2 * through)
        return at_spot(parts, self._sunny, self._sky_of_day, float(spot.cloth_percent)).total_w_m2

    @cached_property
    def _horizon(self) -> tuple[Floats, Floats] | None:
        points = np.array(self.spot.horizon, dtype=np.float64)
        return (points[:, 0], points[:, 1]) if len(points) else None

    @cached_property
    def _sunny(self) -> Floats:
        """Share of each hour in which the sun itself can be seen, (n_hours,)."""
        spot, sun = self.spot, self.sun
        if self._horizon is not None:
            return sunny_by_horizon(sun.elevation_deg, sun.azimuth_deg, *self._horizon).astype(np.float64)
        if self._dim:
            return np.zeros(len(self.hours))
        if spot.sun_from is None or spot.sun_to is None:
            return np.ones(len(self.hours))
        return sunny_by_clock(self.clock.hour + 1.0, _hour(spot.sun_from), _hour(spot.sun_to))

    @cached_property
    def _sky_of_day(self) -> float:
        """Share of the sky's own light that comes down."""
        if self._horizon is not None:
            return sky_view(*self._horizon)
        if self._dim:
            return self.rules.spot.room_sky.value
        return 1.0 if self.spot.sun_from is None else self.rules.spot.sky_by_hours.value

    @property
    def _dim(self) -> bool:
        """Whether it is a room of which no sun is known; a frame stands in the sun unless it is written otherwise."""
        return self.spot.profile in ("frost-free", "heated") and self.spot.sun_from is None

    @cached_property
    def wind_ms(self) -> Floats:
        """Wind at the bench."""
        return self._wind(self.rules.spot.bench_m.value)

    def _wind(self, height_m: float) -> Floats:
        shelter = 0.0 if self.indoors else self.rules.spot.shelter[self.spot.wind].value
        return wind_at(self.hours.wind_10m_ms, height_m, shelter)

    @cached_property
    def gust_ms(self) -> Floats:
        """Gusts at 10 m that would shake a tree of normal shelter as much."""
        share = 0.0 if self.indoors else self.rules.wind.share[self.spot.wind].value
        return self.hours.gust_ms * share

    @cached_property
    def heat_w_m2(self) -> Floats:
        """Heat that air, sky and surface send to a leaf, mean of its faces."""
        surface = self.rules.surface_of(self.spot.surface)
        warmer = self.t_c + surface.warmer_c * self.light_w_m2 / 1000.0
        as_warm = absorbed_w_m2(0.0, warmer, 1.0, sky=0.0)
        # Of the two faces the lower one sees the surface.
        return self._as_air_w_m2 - self.to_sky_w_m2 + (as_warm - self._as_air_w_m2) / 2.0

    @cached_property
    def to_sky_w_m2(self) -> Floats:
        """Heat that what is as warm as the air loses to the sky, mean of its faces."""
        if self.covered:
            return np.zeros((1, len(self.hours)))
        emissivity = sky_emissivity(self.t_c, self.hours.vapour_kpa, self.hours.cloud_percent)
        sky = self._sky_of_day * (1.0 - self.spot.cloth_percent / 100.0)
        return self._as_air_w_m2 - absorbed_w_m2(0.0, self.t_c, emissivity, sky=sky)

    @cached_property
    def _as_air_w_m2(self) -> Floats:
        return absorbed_w_m2(0.0, self.t_c, 1.0, sky=0.0)

    @cached_property
    def sun_w_m2(self) -> Floats:
        """Sunlight that a leaf which kept all of it would take in, mean of its faces."""
        albedo = self.rules.surface_of(self.spot.surface).albedo
        kept, dark = (
            absorbed_w_m2(of, 0.0, 0.0, albedo=albedo, absorptance=1.0) for of in (self.light_w_m2, 0.0)
        )
        return kept - dark

    @cached_property
    def reference_mm(self) -> Floats:
        """What short grass there would give to the air."""
        hours, pressure = self.hours, self.place.pressure_kpa
        elevation = self.sun.elevation_deg
        clear = clear_sky(elevation, self.sun.top_w_m2, hours.vapour_kpa, pressure).total_w_m2
        open_light, clear = np.broadcast_arrays(hours.sunlight_w_m2, clear)
        share = clear_share_hour(open_light, clear, np.broadcast_to(elevation, clear.shape))
        net = net_hour(self.t_c, hours.vapour_kpa, self.light_w_m2 * MJ_PER_W_HOUR, share)
        ground = ground_heat_hour(net, day=self.day.astype(np.float64))
        return hourly_mm(self.t_c, hours.vapour_kpa, self._wind(2.0), net, pressure, ground)

    @cached_property
    def rain_mm(self) -> Floats:
        """Rain."""
        return np.zeros((1, len(self.hours))) if self.covered else self.hours.rain_mm

    @cached_property
    def hail(self) -> NDArray[np.bool_]:
        """Hail."""
        return np.zeros((1, len(self.hours)), dtype=bool) if self.covered else self.hours.hail

    @cached_property
    def wet_c(self) -> Floats:
        """Temperature below which leaves wet from rain do not stay, ``inf`` where they are dry."""
        since = recent(self.rain_mm, round(self.rules.wet.leaves_h.value)) > 0
        if not since.any():
            return np.full((1, len(self.hours)), np.inf)
        return np.where(since, wet_bulb_c(self.t_c, self.hours.vapour_kpa, self.place.pressure_kpa), np.inf)

    @cached_property
    def running_mol(self) -> Floats:
        """Light plants use since midnight [mol m-2], at the end of each hour."""
        return running(photons_umol(self.light_w_m2) * 3600.0 / 1e6, self.clock)

    @cached_property
    def daily_mol(self) -> Floats:
        """Daily light [mol m-2 d-1], (n_members or 1, n_days)."""
        ends = np.append(self.clock.first[1:], len(self.hours)) - 1
        return self.running_mol[:, ends]


def weather_at(spots: Iterable[Spot], hours: Hours, place: Place, rules: Exposure) -> dict[Spot, Weather]:
    """Return the hours at each spot; their columns are made when they are first asked for."""
    days, nights, sun = clock(hours, place), clock(hours, place, from_noon=True), hours.sun(place)
    return {spot: Weather(spot, hours, place, rules, sun, days, nights) for spot in spots}


def running(values: Floats, days: Clock) -> Floats:
    """Return sums (..., n_hours) since the beginning of each day."""
    total: Floats = np.cumsum(values, axis=-1)
    before = np.concatenate([np.zeros((*total.shape[:-1], 1)), total], axis=-1)[..., days.first]
    return np.asarray(total - np.repeat(before, lengths(days, values.shape[-1]), axis=-1))


def lengths(days: Clock, n_hours: int) -> NDArray[np.intp]:
    """Return the hours of each day, (n_days,)."""
    return np.asarray(np.diff(np.append(days.first, n_hours)))


def recent(values: Floats, hours: int) -> Floats:
    """Return sums (..., n_hours) of this hour and of ``hours`` before it."""
    total: Floats = np.cumsum(values, axis=-1)
    total[..., hours + 1 :] -= total[..., : -hours - 1].copy()
    return total


def _hour(of: time) -> float:
    return of.hour + of.minute / 60.0
