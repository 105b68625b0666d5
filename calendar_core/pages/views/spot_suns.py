"""The sun of a spot on the arc of a day, with its sentence: for the settings."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.app.warnings.hours_ahead import nights
from calendar_core.app.warnings.judging import place_of
from calendar_core.garden.thermal import DIM
from calendar_core.pages.views.day_pictures import Strip
from calendar_core.publishing.pictures.day import Mark
from calendar_core.publishing.pictures.sun_arc import SunArc, sun_arc
from calendar_core.science.hour.spot_light import sunny_by_horizon
from calendar_core.science.hour.sun_path import sun_path
from calendar_core.wording.pages.spot_text import sun_sentence

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from numpy.typing import NDArray

    from alerts.air.hours import Span
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Spot

STEP = timedelta(minutes=1)
DRAWN = 20  # minutes from point to point of the arc (by eye)


def sun_of(session: Session, spot: Spot, day: date | None = None) -> Strip:
    """Return the arc of the sun on a day, today if none is named, with when it reaches a spot."""
    on, style, place = day or session.today, session.style, place_of(session.garden)
    begins = datetime.combine(on, time(), place.zone).astimezone(UTC)
    ends = datetime.combine(on + timedelta(days=1), time(), place.zone).astimezone(UTC)
    moments = [begins + n * STEP for n in range((ends - begins) // STEP + 1)]
    utc = np.array([moment.replace(tzinfo=None) for moment in moments], dtype="datetime64[s]")
    sun = sun_path(place.latitude, place.longitude, utc)
    local = [moment.astimezone(place.zone) for moment in moments]
    dark = nights(place, (begins, ends))
    up = [
        (rise.astimezone(place.zone), down.astimezone(place.zone))
        for rise, down in _between(dark, (begins, ends))
    ]
    held = _spans(local, _reached(spot, local, sun.elevation_deg, sun.azimuth_deg))
    reaches = [
        (max(first, rise), min(last, down))
        for rise, down in up
        for first, last in held
        if max(first, rise) < min(last, down)
    ]
    sets = bool(dark and up)
    sentence = sun_sentence(style, spot.name, style.day(on, session.today), up, reaches, sets=sets)
    marks = dict.fromkeys(moment for span in (*up, *reaches) for moment in span) if sets else {}
    arc = SunArc(
        sentence,
        tuple(zip(local[::DRAWN], sun.elevation_deg[::DRAWN].tolist(), strict=True)),
        tuple(reaches),
        tuple(Mark(moment, style.clock(moment)) for moment in sorted(marks)),
    )
    return Strip(sun_arc(arc), sentence)


def _between(spans: Sequence[Span], whole: Span) -> list[Span]:
    """Return what is left between spans."""
    edges = [whole[0], *(moment for span in spans for moment in span), whole[1]]
    return [(first, last) for first, last in list(pairwise(edges))[::2] if first < last]


def _reached(
    spot: Spot, local: Sequence[datetime], height: NDArray[np.float64], azimuth: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Return at which moments the sun reaches a spot, as the hazards have it."""
    if spot.horizon:
        points = np.array(spot.horizon)
        return np.asarray(sunny_by_horizon(height, azimuth, points[:, 0], points[:, 1]) > 0)
    if spot.sun_from is None or spot.sun_to is None:
        return np.full(len(local), spot.profile not in DIM)
    return np.array([spot.sun_from <= moment.time() < spot.sun_to for moment in local])


def _spans(local: Sequence[datetime], held: NDArray[np.bool_]) -> list[Span]:
    """Return from when to when something holds."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], held, [False]]).astype(int))).tolist()
    return [(local[first], local[min(end, len(local) - 1)]) for first, end in list(pairwise(edges))[::2]]
