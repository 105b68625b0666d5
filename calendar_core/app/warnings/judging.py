"""Judging the hazards of the coming days for a garden, on the hourly forecast that is stored."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from alerts.air.hours import REMEMBERED_H, Hours, Place
from alerts.air.reading import hours_of
from alerts.air.spread import spread
from alerts.hazards.judge import judge
from alerts.policy.cap import LIKELY_FROM
from alerts.shelter.advice import PlannedCover, advise
from alerts.shelter.times import NIGHTLY
from calendar_core.app.warnings.standing_trees import stands_of
from calendar_core.storage.services import get_forecast, get_forecast_hours
from calendar_core.weather.hours_from_days import hours_from_days

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from datetime import date
    from uuid import UUID

    from alerts.air.hours import Span
    from alerts.hazards.stand import Stand
    from alerts.threats import Advice, Threat
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Garden
    from calendar_core.knowledge.words import Hazard
    from calendar_core.storage.services import StoredForecast, StoredHours

SLOW = timedelta(minutes=10)  # so far a clock may lag behind that of the service (estimate)
FORETOLD = {"cold_forecast", "fresh_roots_forecast"}
"""Why the forecast alone asks for a move, after which a tree may come back."""
AHEAD = timedelta(days=30)
"""Farther than any warning or forecast reaches (estimate)."""
ENSEMBLE_AGE = timedelta(hours=24)
"""An ensemble older than this against the hours tells of another weather; the model of errors takes its place (estimate)."""


@dataclass(frozen=True)
class Judged:
    """What threatens the trees in the coming days, and what it was judged on; ``unseen`` is when it tells nothing."""

    stored: StoredHours
    hours: Hours
    unseen: tuple[Span, ...]
    place: Place
    stands: Mapping[UUID, Stand]
    threats: tuple[Threat, ...]

    def advice(
        self, session: Session, wanted: Collection[tuple[date, Hazard]], now: datetime
    ) -> dict[tuple[date, Hazard], tuple[Advice, ...]]:
        """Return what to do about the threats of some days and hazards.

        A move lasts through the days in a row of which each is likelier than not to threaten the tree.
        """
        counted = [
            threat
            for threat in self.threats
            if (threat.day, threat.hazard) in wanted or threat.chances[0] >= LIKELY_FROM
        ]
        spots, rules = list(session.spots.values()), session.knowledge.exposure
        covers = _covers(session)
        return advise(counted, self.stands, spots, self.hours, self.place, rules, now, wanted, covers)

    def nights_at(self, session: Session, trees: Collection[UUID], spot: UUID) -> list[Threat]:
        """Return what would likely threaten trees by night if they stood at a spot."""
        there = [
            replace(self.stands[tree], spot=session.spots[spot]) for tree in trees if tree in self.stands
        ]
        found = judge(there, self.hours, self.place, session.knowledge.exposure) if there else ()
        return [threat for threat in found if threat.hazard in NIGHTLY and threat.chances[0] >= LIKELY_FROM]


def _covers(session: Session) -> dict[UUID, PlannedCover]:
    """Return where the plan wants trees under cover so soon that it would bring none out again before, or by the forecast."""
    soon = session.today + timedelta(days=session.knowledge.places.least_days.value)
    return {
        item.tree_id: PlannedCover(item.to, FORETOLD.isdisjoint(reason.code for reason in item.reasons))
        for item in session.plan.items
        if item.protects and item.to is not None and item.closes.early <= soon
    }


@dataclass(frozen=True)
class OfOtherDays:
    """A forecast that tells nothing of the moment asked for: made on a later day, or its hours lie before or after."""

    stored: StoredHours
    ends: datetime


def place_of(garden: Garden) -> Place:
    """Return where a garden lies."""
    return Place(garden.latitude, garden.longitude, garden.elevation_m, ZoneInfo(garden.zone))


@dataclass(frozen=True)
class Foreseen:
    """The hours that hazards are judged by, from the midnight before the garden's last on, as they were stored."""

    stored: StoredHours
    hours: Hours
    place: Place


def foreseen(session: Session, now: datetime) -> Foreseen | OfOtherDays | None:
    """Return the hours of the coming days, or the forecast where it is of others; None where there is no hour of one.

    What was measured in the weeks before is what root balls remember.
    """
    garden, place = session.garden, place_of(session.garden)
    with session.store.read() as connection:
        stored = get_forecast_hours(connection, garden.latitude, garden.longitude)
        days = get_forecast(connection, garden.latitude, garden.longitude, garden.zone)
    if stored is None:
        return None
    try:
        whole = hours_of(stored.series, stored.issued, place)
    except ValueError:  # not two hours of temperature: less than one whole hour
        return None
    ends = whole.at(len(whole))
    if not whole.start <= now < ends or _made_later(stored.issued, now, place):
        return OfOtherDays(stored, ends)
    whole = replace(whole, before_c=_remembered(session, whole.start, place))
    yesterday = now.astimezone(place.zone).date() - timedelta(days=1)
    hours = whole.part(datetime.combine(yesterday, time(), place.zone), whole.at(len(whole)))
    low, high = _members(days, stored)
    hours = spread(hours, place, session.knowledge.hazards.forecast_error, low_c=low, high_c=high)
    return Foreseen(stored, hours, place)


def judged(session: Session, now: datetime) -> Judged | OfOtherDays | None:
    """Return the threats of the coming days, or the forecast where it is of others; None where there is no hour of one.

    Days are judged as far as the forecast reaches back, and as trees stand today.
    """
    found = foreseen(session, now)
    if not isinstance(found, Foreseen):
        return found
    hours, place = found.hours, found.place
    stands = stands_of(session, hours, place)
    threats = judge(stands.values(), hours, place, session.knowledge.exposure)
    ahead = tuple(threat for threat in threats if threat.ends > now)
    return Judged(found.stored, hours, hours.unknown(now, now + AHEAD), place, stands, ahead)


def sees_until_tomorrow_night(session: Session, now: datetime) -> bool:
    """Tell whether the stored hours tell of all that comes until the end of tomorrow, so that no warning is good news."""
    garden, place = session.garden, place_of(session.garden)
    with session.store.read() as connection:
        stored = get_forecast_hours(connection, garden.latitude, garden.longitude)
    if stored is None:
        return False
    try:
        hours = hours_of(stored.series, stored.issued, place)
    except ValueError:
        return False
    night = datetime.combine(now.astimezone(place.zone).date() + timedelta(days=2), time(), place.zone)
    return not hours.unknown(now, night)


def _made_later(issued: datetime, now: datetime, place: Place) -> bool:
    """Tell whether a run is of a later day than ``now``; one of the same day tells of it too."""
    return issued - now > SLOW and issued.astimezone(place.zone).date() > now.astimezone(place.zone).date()


def _remembered(session: Session, start: datetime, place: Place) -> np.ndarray:
    """Return the temperature of the hours measured in the weeks before the day of ``start``, (1, n); gaps are left out."""
    measured = session.weather.measured
    if measured is None:
        return np.empty((1, 0))
    day = start.astimezone(place.zone).date()
    days = measured.window(day - timedelta(hours=REMEMBERED_H), day - timedelta(days=1))
    t_c = hours_from_days(days, place.latitude, place.longitude, place.zone)["t_c"]
    return t_c[np.isfinite(t_c)][None]


def _members(
    days: StoredForecast | None, stored: StoredHours
) -> tuple[dict[date, np.ndarray], dict[date, np.ndarray]] | tuple[None, None]:
    """Return the ensemble's minima and maxima by day, where there is one of about the age of the hours."""
    if days is None or len(days.t_min_c) < 2 or abs(days.issued - stored.issued) > ENSEMBLE_AGE:
        return None, None
    known = np.flatnonzero(np.isfinite(days.t_min_c + days.t_max_c).all(axis=0)).tolist()
    if not known:
        return None, None
    low, high = (
        {days.start + timedelta(days=k): of[:, k] for k in known} for of in (days.t_min_c, days.t_max_c)
    )
    return low, high
