"""Courses around a single forecast: how far it may be off, as a number of equally likely members."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from alerts.air.hours import Hours, Place, clock
from calendar_core.science.hour.sunlight import clear_sky, under_cloud

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from numpy.typing import NDArray

    from calendar_core.knowledge.forms.hazards import ForecastError, Growing

    Floats = NDArray[np.float64]

MEMBERS = 20
# Steps around the circle that never fall in line with each other: golden ratio and square root of 2.
_CLOUD_STEP, _WIND_STEP = (5.0**0.5 - 1.0) / 2.0, 2.0**0.5 - 1.0


def spread(
    hours: Hours,
    place: Place,
    errors: ForecastError,
    *,
    members: int = MEMBERS,
    low_c: Mapping[date, Floats] | None = None,
    high_c: Mapping[date, Floats] | None = None,
) -> Hours:
    """Return members around the one course of ``hours``.

    Each member holds its place among all of them for the whole forecast, in temperature, cloud and wind apart:
    the chances of each hour and day are right, and errors last from hour to hour. Nothing is drawn by chance. More
    cloud takes sunlight, less cloud gives it, up to a clear sky's. Vapour, rain and hail are shared.

    Parameters
    ----------
    members : 1 or more
        Ignored where daily members are given: there are as many as these.
    low_c, high_c : by local day, (n_members,) [degC]
        Minimum and maximum of an ensemble's days; how far they lie from their mean takes the place of the error
        of temperature, and that of the nearest day before or after where a day is missing. Days with unknown
        members are to be left out. Members closer together than the error, as those of ensembles are in the first
        days, are spread to it.

    Raises
    ------
    ValueError
        When ``hours`` has more than one member.

    Source
    ------
    Stratified quantiles of a normal distribution; its spread is an assumption, config/hazards.toml.
    """
    if hours.n_members != 1:
        raise ValueError(f"found {hours.n_members} members; right would be a single course")
    since_issue = hours.starts - np.datetime64(hours.issued.astimezone(UTC).replace(tzinfo=None), "s")
    lead_days = np.maximum(since_issue / np.timedelta64(1, "D"), 0.0)
    n = len(next(iter(low_c.values()))) if low_c and high_c else members
    order = np.arange(n)
    least = _sd(errors.temperature_c, lead_days)
    if low_c and high_c:
        off_c = _widened(_off_by_day(hours, place, low_c, high_c), least)
    else:
        off_c = _normal((order + 0.5) / n) * least
    cloud = hours.cloud_percent + _normal(_ranks(order, _CLOUD_STEP)) * _sd(errors.cloud_percent, lead_days)
    cloud = np.clip(cloud, 0.0, 100.0)
    factor = np.exp(_normal(_ranks(order, _WIND_STEP)) * _sd(errors.ln_wind, lead_days))
    return replace(
        hours,
        t_c=hours.t_c + off_c,
        cloud_percent=cloud,
        sunlight_w_m2=_sunlight(hours, place, cloud),
        wind_10m_ms=hours.wind_10m_ms * factor,
        gust_ms=hours.gust_ms * factor,
    )


def _sd(error: Growing, lead_days: Floats) -> Floats:
    return np.minimum(error.start + error.per_day * lead_days, error.most)


def _normal(shares: Floats) -> Floats:
    """Return quantiles of the normal distribution, (n_members, 1)."""
    return np.array([[NormalDist().inv_cdf(float(share))] for share in shares])


def _widened(off_c: Floats, least_c: Floats) -> Floats:
    """Return members spread at least so far at each hour: what lacks is added by their order from cold to warm."""
    n = len(off_c)
    rank = np.argsort(np.argsort(off_c.mean(axis=1), kind="stable"))
    shares = _normal((rank + 0.5) / n)
    lacking = np.maximum(least_c - off_c.std(axis=0), 0.0)
    return np.asarray(off_c + shares / shares.std() * lacking)


def _ranks(order: NDArray[np.int_], step: float) -> Floats:
    """Return evenly spread shares whose order is unlike that of the members."""
    mixed = np.argsort(np.argsort((order * step) % 1.0))
    return (mixed + 0.5) / len(order)


def _sunlight(hours: Hours, place: Place, cloud: Floats) -> Floats:
    sun = hours.sun(place)
    clear = clear_sky(sun.elevation_deg, sun.top_w_m2, hours.vapour_kpa, place.pressure_kpa).total_w_m2
    changed = hours.sunlight_w_m2 * under_cloud(1.0, cloud) / under_cloud(1.0, hours.cloud_percent)
    return np.minimum(changed, np.maximum(hours.sunlight_w_m2, clear))


def _off_by_day(
    hours: Hours, place: Place, low_c: Mapping[date, Floats], high_c: Mapping[date, Floats]
) -> Floats:
    """Return how far members are off at each hour: as at the day's minimum and maximum, straight between them."""
    days = clock(hours, place)
    known = sorted(low_c.keys() & high_c.keys())
    apart = [[abs((day - wanted).days) for day in known] for wanted in days.days]
    nearest = [known[i] for i in np.argmin(apart, axis=1)]
    length = np.diff(np.append(days.first, len(hours)))
    low, high = (
        np.repeat(np.stack([of[day] - of[day].mean() for day in nearest], axis=-1), length, axis=-1)
        for of in (low_c, high_c)
    )
    least, most = (
        np.repeat(pick.reduceat(hours.t_c[0], days.first), length) for pick in (np.minimum, np.maximum)
    )
    share = (hours.t_c[0] - least) / np.where(most > least, most - least, 1.0)
    return np.asarray(low + (high - low) * share)
