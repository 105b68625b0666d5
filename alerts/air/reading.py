"""Hours of a forecast from a service's hourly series; what it does not tell is filled in."""

from __future__ import annotations

from datetime import UTC
from typing import TYPE_CHECKING

import numpy as np

from alerts.air.hours import Hours, Place
from calendar_core.science.hour.humidity import saturation_kpa, vapour_kpa, vapour_of_night_kpa
from calendar_core.science.hour.net_radiation import clear_share_hour
from calendar_core.science.hour.sun_path import sun_path
from calendar_core.science.hour.sunlight import clear_sky, under_cloud
from calendar_core.weather.hourly import HOUR

if TYPE_CHECKING:
    from datetime import datetime

    from numpy.typing import NDArray

    from calendar_core.weather.hourly import Column, HourlySeries

    Floats = NDArray[np.float64]

LONGEST_GAP = 6  # [h] estimate: the far end of many forecasts comes in steps of 3 or 6 hours
USUAL_WIND_MS = 2.7  # FAO-56: 2 m/s at 2 m where wind is unknown, by its profile 2.7 at 10 m
GUST_FACTOR = 1.6  # from memory: gusts over land are 1.5 to 1.7 of the mean wind
HAIL_CODES = (96.0, 99.0)  # WMO table 4677: thunderstorm with hail
_BRIDGED: tuple[Column, ...] = ("t_c", "dew_point_c", "humidity_percent", "cloud_percent", "wind_ms")
_OF_THE_HOUR: tuple[Column, ...] = ("gust_ms", "radiation_w_m2", "precipitation_mm", "weather_code")
_CLOUD_OF_LIGHT = 1.0 / 3.4  # inverse of Kasten & Czeplak 1980, as in science.sunlight


def hours_of(series: HourlySeries, issued: datetime, place: Place) -> Hours:
    """Return the hours of a single forecast, one member.

    An instant's value becomes the mean of the two that bound the hour. Gaps of up to `LONGEST_GAP` hours are
    bridged by a straight line. So are longer ones of temperature, for root balls to be followed through them, but
    their hours are not ``known``. What the source does not
    tell: humidity from the minimum of the 24 hours around, sunlight from the clear sky and cloud, cloud from
    sunlight, a clear sky where it tells neither, wind as FAO-56 has it where it is unknown, gusts from wind, no
    rain, no hail.

    Raises
    ------
    ValueError
        Without two temperatures in a row.

    Source
    ------
    FAO-56 eq. 48; Kasten & Czeplak 1980; the constants of this module.
    """
    told = ~np.isnan(_bridged(series["t_c"]))
    span = _span(told)
    start = series.start + span.start * HOUR
    ends = {column: _bridged(series[column])[span] for column in _BRIDGED}
    ends["t_c"] = _bridged(series["t_c"], len(series["t_c"]))[span]
    over = {column: series[column][span][1:] for column in _OF_THE_HOUR}  # the hour that ends
    t = _mean(ends["t_c"])
    vapour = _mean(_vapour(ends["t_c"], ends["dew_point_c"], ends["humidity_percent"]))
    wind = _or(_mean(ends["wind_ms"]), USUAL_WIND_MS)
    light, cloud = _light_and_cloud(
        over["radiation_w_m2"], _mean(ends["cloud_percent"]), vapour, start, place
    )
    return Hours(
        start,
        issued,
        t_c=t[None],
        vapour_kpa=vapour[None],
        wind_10m_ms=wind[None],
        gust_ms=_or(over["gust_ms"], GUST_FACTOR * wind)[None],
        sunlight_w_m2=light[None],
        cloud_percent=cloud[None],
        rain_mm=_or(over["precipitation_mm"], 0.0)[None],
        hail=np.isin(over["weather_code"], HAIL_CODES)[None],
        known=(told[span][:-1] & told[span][1:])[None],
    )


def _span(known: NDArray[np.bool_]) -> slice:
    """Return the instants of the hours from the first to the last whose temperature is known."""
    hours = np.flatnonzero(known[:-1] & known[1:])
    if not len(hours):
        raise ValueError("t_c is known at no two hours in a row; right would be a forecast of temperature")
    return slice(int(hours[0]), int(hours[-1]) + 2)


def _bridged(values: Floats, longest_h: int = LONGEST_GAP) -> Floats:
    """Return instants with gaps of at most ``longest_h`` hours between known ones filled."""
    known = np.flatnonzero(~np.isnan(values))
    if not len(known):
        return values
    hours = np.arange(len(values))
    after = np.searchsorted(known, hours)
    before, behind = known[np.maximum(after - 1, 0)], known[np.minimum(after, len(known) - 1)]
    inside = (hours > known[0]) & (hours < known[-1]) & (behind - before <= longest_h)
    filled = np.where(np.isnan(values) & inside, np.interp(hours, known, values[known]), values)
    return np.asarray(filled)


def _mean(instants: Floats) -> Floats:
    """Return the means of the hours between instants."""
    return (instants[:-1] + instants[1:]) / 2.0


def _or(values: Floats, other: Floats | float) -> Floats:
    return np.where(np.isnan(values), other, values)


def _vapour(t_c: Floats, dew_point_c: Floats, humidity_percent: Floats) -> Floats:
    """Return vapour [kPa] by the dew point, else the humidity, else the lowest temperature of 24 hours around."""
    around = np.lib.stride_tricks.sliding_window_view(np.pad(t_c, 12, mode="edge"), 25).min(axis=-1)
    by_night = vapour_of_night_kpa(t_c, around)
    known = _or(saturation_kpa(np.minimum(dew_point_c, t_c)), vapour_kpa(t_c, humidity_percent))
    return _or(known, by_night)


def _light_and_cloud(
    light: Floats, cloud: Floats, vapour: Floats, start: datetime, place: Place
) -> tuple[Floats, Floats]:
    """Return sunlight and cloud, each from the other where it is unknown, and a clear sky's where both are."""
    first = np.datetime64(start.astimezone(UTC).replace(tzinfo=None), "s")
    middle = first + (np.arange(len(light)) * 3600 + 1800) * np.timedelta64(1, "s")
    sun = sun_path(place.latitude, place.longitude, middle)
    clear = clear_sky(sun.elevation_deg, sun.top_w_m2, vapour, place.pressure_kpa).total_w_m2
    light = _or(light, under_cloud(clear, _or(cloud, 0.0)))
    share = clear_share_hour(light, clear, sun.elevation_deg)
    by_light = 100.0 * np.clip((1.0 - share) / 0.75, 0.0, 1.0) ** _CLOUD_OF_LIGHT
    return light, _or(cloud, by_light)
