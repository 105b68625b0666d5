"""The hours of a spot as a picture with its sentence: its curves, lines and marks put together from values and words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from math import isfinite, isnan
from typing import TYPE_CHECKING

from calendar_core.app.warnings.voices import voice_of
from calendar_core.publishing.pictures.day import Course, DayPicture, Line, Mark, day_strip
from calendar_core.weather.hourly import HOUR
from calendar_core.wording.pages.hours_text import (
    HOURS,
    curve_label,
    harm_sentence,
    joined,
    line_label,
    there_sentence,
    worst_sentence,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from alerts.air.hours import Span
    from calendar_core.app.shell.session import Session
    from calendar_core.app.warnings.hours_ahead import HazardHours, HoursAhead, SpotHours
    from calendar_core.planning.events import TimedEvent

NEAR_C = 12.0  # a line further from what is met is not drawn: it would press the curves flat (by eye)
WHAT = {"heat": "leaves", "frost": "buds", "hot roots": "roots", "cold roots": "roots"}
AXIS_H = (6, 12, 18)
SHORTEST = timedelta(hours=2)  # a day shorter than that is drawn as the whole day it is part of


@dataclass(frozen=True, slots=True)
class Strip:
    """A picture with the sentence that stands beneath it."""

    svg: str
    sentence: str


def strip_of(
    session: Session, ahead: HoursAhead, spot: SpotHours, span: Span, moves: Sequence[TimedEvent] = (), where: str = ""
) -> Strip:  # fmt: skip
    """Return the picture of the hazard that comes nearest at a spot, between two moments, and beneath it the sentence.

    ``where`` is what ``there`` of the hours is called, if it is not the trees' cloth.
    """
    style, worst = session.style, spot.worst
    if worst is None:
        known = any(isfinite(value) for value in spot.air_c)
        return Strip("", style.say(HOURS["nothing" if known else "unknown"]))
    sentence = sentence_of(session, worst, where)
    shown = list(_shown(spot, worst))
    courses = [
        _course(ahead, span, hours.bad, curve_label(style, _worst(hours), HOURS[WHAT[hours.hazard]]))
        for hours in shown
    ]
    if worst.there and len(courses) < 3:
        label = curve_label(style, _worst(worst, worst.there), where or HOURS["there_cloth"])
        courses.append(_course(ahead, span, worst.there, label))
    elif len(courses) < 2:
        coldest = min(spot.air_c) if worst.falling else max(spot.air_c)
        courses.append(_course(ahead, span, spot.air_c, curve_label(style, coldest, HOURS["air"])))
    picture = DayPicture(
        sentence,
        *span,
        courses=tuple(courses),
        lines=tuple(_lines(session, shown)),
        harm=tuple(span for hours in shown for span in hours.harm),
        nights=ahead.nights,
        marks=tuple(_marks(session, spot, span, moves)),
        hours=_axis(session, span),
        now=session.clock.now,
        falling=worst.falling,
    )
    return Strip(day_strip(picture), sentence)


def _course(ahead: HoursAhead, span: Span, values: tuple[float, ...], label: str) -> Course:
    """Return a curve from edge to edge, as far as hours are known: the mean of an hour stands for all of it."""
    before = ahead.at[0] - span[0] < HOUR
    after = span[1] - ahead.at[-1] < HOUR
    at = (*span[:1] * before, *ahead.at, *span[1:] * after)
    return Course(at, (*values[:1] * before, *values, *values[-1:] * after), label)


def sentence_of(session: Session, hours: HazardHours, where: str = "") -> str:
    """Return what the trees most at risk meet, against their line."""
    style, falling = session.style, hours.falling
    names = voice_of(session).names(hours.trees)
    what = HOURS[WHAT[hours.hazard]]
    known = sum(isfinite(value) for value in hours.bad)
    beyond = sum((ends - begins).total_seconds() for begins, ends in hours.harm) / 3600
    return joined([
        worst_sentence(
            style, what, names, _worst(hours), _worst(hours, hours.likely), hours.caution, falling=falling
        ),
        harm_sentence(style, hours.harm, whole=beyond >= known),
        there_sentence(style, where or style.say(HOURS["there_cloth"]), _worst(hours, hours.there), falling=falling)
        if hours.there and hours.harm
        else "",
    ])  # fmt: skip


def _worst(hours: HazardHours, values: Sequence[float] | None = None) -> float:
    known = [value for value in (hours.bad if values is None else values) if not isnan(value)]
    return (min if hours.falling else max)(known, default=float("nan"))


def _shown(spot: SpotHours, worst: HazardHours) -> Iterator[HazardHours]:
    """Give what is drawn: leaves, and root balls, each by the hazard that is nearer; first the one of the two that is nearest."""
    leaves = _nearer(spot, "heat", "frost")
    roots = _nearer(spot, "hot roots", "cold roots")
    for hours in sorted(filter(None, (leaves, roots)), key=lambda hours: hours.margin):
        if hours.falling == worst.falling or hours.margin < NEAR_C:
            yield hours


def _nearer(spot: SpotHours, *hazards: str) -> HazardHours | None:
    found = [hours for hazard, hours in spot.hazards.items() if hazard in hazards]
    return min(found, key=lambda hours: hours.margin, default=None)


def _lines(session: Session, shown: Sequence[HazardHours]) -> Iterator[Line]:
    """Give the lines that are near; which of two harms what is told, unless they are one."""
    near = [hours for hours in shown if hours.margin < NEAR_C]
    several = len({(hours.caution, hours.falling) for hours in near}) > 1
    for value, hours in {hours.caution: hours for hours in reversed(near)}.items():
        what = HOURS[WHAT[hours.hazard]] if several else ""
        yield Line(value, line_label(session.style, value, what, falling=hours.falling))


def _marks(session: Session, spot: SpotHours, span: Span, moves: Sequence[TimedEvent]) -> Iterator[Mark]:
    """Give what is to be done: moves of the trees here, and the hours at which pots are usually watered."""
    style, here = session.style, set(spot.trees)
    for move in moves:
        at = move.start.astimezone(session.zone)
        if here & set(move.tree_ids) and span[0] <= at < span[1]:
            yield Mark(at, style.clock(at), move.summary.partition(": ")[0])
    day = span[0].astimezone(session.zone).date()
    for later in range((span[1].date() - day).days + 1):
        for hour in spot.watered_h:
            at = datetime.combine(day + timedelta(days=later), time(int(hour)), session.zone)
            if span[0] <= at < span[1] and not (spot.worst and spot.worst.falling):
                yield Mark(at, style.clock(at), style.say(HOURS["water"]))


def _axis(session: Session, span: Span) -> tuple[Mark, ...]:
    """Return the hours that the axis names, by the garden's clock."""
    day = span[0].astimezone(session.zone).date()
    found = (
        datetime.combine(day + timedelta(days=later), time(hour % 24), session.zone)
        for later in range(3)
        for hour in (0, *AXIS_H)
    )
    room = (span[1] - span[0]) / 12
    return tuple(Mark(at, session.style.clock(at)) for at in found if span[0] + room <= at <= span[1] - room)
