"""Hours: the coming days hour by hour and spot by spot, and the picture of today for its page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from fastapi import APIRouter
from markupsafe import Markup
from starlette.responses import Response

from calendar_core.app.shell.session import Session
from calendar_core.app.warnings.hours_ahead import HazardHours, HoursAhead, SpotHours, hours_ahead
from calendar_core.app.warnings.judging import Foreseen, foreseen
from calendar_core.app.warnings.stored_warnings import timed_events
from calendar_core.pages.shell.access import Reader
from calendar_core.pages.shell.answering import page
from calendar_core.pages.views.day_pictures import SHORTEST, WHAT, sentence_of, strip_of
from calendar_core.science.year.daylight import solar_noon, sun_times
from calendar_core.wording.pages.hours_text import HOURS, degrees

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from alerts.air.hours import Place, Span
    from calendar_core.garden.model import Spot
    from calendar_core.planning.events import TimedEvent

router = APIRouter()
MOST_DAYS = 7  # of a forecast hour by hour: later ones say little of an hour (estimate)


@dataclass(frozen=True)
class DayOfHours:
    """A day of the page with its hours."""

    day: date
    span: Span
    ahead: HoursAhead


@dataclass(frozen=True)
class ComingHours:
    """The days that the forecast tells of; ``why_none`` is the key of a sentence where it tells of none."""

    days: tuple[DayOfHours, ...]
    moves: Sequence[TimedEvent] = ()
    issued: datetime | None = None
    why_none: str = ""


@dataclass(frozen=True)
class SpotOfPage:
    """A spot with its picture, what is said of it, and its numbers."""

    name: str
    trees: str
    picture: Markup
    sentences: Sequence[str]
    heads: Sequence[str]
    rows: Sequence[Sequence[str]]


def coming_hours(session: Session) -> ComingHours:
    """Return the hours of today and the days to come, by the garden's days."""
    found = foreseen(session, session.clock.now)
    if not isinstance(found, Foreseen):
        return ComingHours((), why_none="no_hours" if found is None else "other_days")
    ends = found.hours.at(len(found.hours))
    days = [session.today + timedelta(days=n) for n in range(MOST_DAYS)]
    spans = [(_midnight(session, day), _midnight(session, day + timedelta(days=1))) for day in days]
    known = [(day, span) for day, span in zip(days, spans, strict=True) if span[0] < ends]
    hours = hours_ahead(session, found, [span for _, span in known])
    shown = tuple(DayOfHours(day, span, of) for (day, span), of in zip(known, hours, strict=True))
    return ComingHours(shown, timed_events(session, session.clock.now), found.stored.issued)


@router.get("/hours", include_in_schema=False)
def hours(visit: Reader, day: date | None = None) -> Response:
    """Show the coming days hour by hour; of one of them each spot."""
    shown = visit.site.kept(visit.session, coming_hours)
    session, found = shown.session, shown.value
    style = session.style
    chosen = next((of for of in found.days if of.day == day), found.days[0] if found.days else None)
    return page(
        visit,
        "hours.html",
        title="Hours",
        current="hours",
        why_none=style.say(HOURS[found.why_none]) if found.why_none else "",
        issued=_issued(session, found),
        days=[(of.day.isoformat(), _called(session, of.day), of is chosen) for of in found.days],
        chosen=style.weekday(chosen.day) if chosen else "",
        spots=list(_spots(session, chosen, found.moves)) if chosen else [],
    )


def _called(session: Session, day: date) -> str:
    """Return a day as one calls it; of the days of a week no two have one name."""
    near = ("today", "tomorrow")
    ahead = (day - session.today).days
    return session.style.say(HOURS[near[ahead]]) if ahead < len(near) else session.style.weekday_name(day)


def _issued(session: Session, found: ComingHours) -> str:
    if found.issued is None:
        return ""
    at = found.issued.astimezone(session.zone)
    when = f"{session.style.day(at.date(), session.today)}, {session.style.clock(at)}"
    return session.style.say(HOURS["issued"], when=when)


def _spots(session: Session, day: DayOfHours, moves: Sequence[TimedEvent]) -> Iterator[SpotOfPage]:
    style = session.style
    for spot in day.ahead.spots:
        strip = strip_of(session, day.ahead, spot, day.span, moves)
        others = [
            sentence_of(session, hours)
            for hours in spot.hazards.values()
            if hours is not spot.worst and hours.harm
        ]
        told = style.number_of(len(spot.trees), "tree", "trees")
        rows = list(_rows(session, day.ahead, spot))
        yield SpotOfPage(
            spot.spot.name or style.say(HOURS["open"]), told, Markup(strip.svg), [strip.sentence, *others],  # noqa: S704 - our own
            _heads(session, spot), rows,
        )  # fmt: skip


def _columns(spot: SpotHours) -> list[HazardHours]:
    return list(spot.hazards.values())


def _heads(session: Session, spot: SpotHours) -> list[str]:
    """Return the heads of the table of a spot."""
    say = session.style.say
    heads = [say(HOURS["hour"]), say(HOURS["air"])]
    for hours in _columns(spot):
        bad = f"{say(HOURS[WHAT[hours.hazard]])}, {say(HOURS['bad'])}"
        heads += [f"{say(HOURS[WHAT[hours.hazard]])}, {say(HOURS['likely'])}", bad]
    return [f"{head[:1].upper()}{head[1:]}" for head in heads]


def _rows(session: Session, ahead: HoursAhead, spot: SpotHours) -> Iterator[list[str]]:
    """Give the numbers of each hour of a spot."""
    style = session.style
    for n, at in enumerate(ahead.at):
        values = [value for hours in _columns(spot) for value in (hours.likely[n], hours.bad[n])]
        begins = at - timedelta(minutes=30)
        yield [style.clock(begins), *(degrees(style, value) for value in (spot.air_c[n], *values))]


def today_strip(session: Session) -> tuple[Markup, str] | None:
    """Return the picture of the hours that matter today with its sentence, None without a forecast hour by hour.

    They are those of the day from sunrise to sunset, or of the night to come, whichever brings a spot nearer to harm;
    where a move is asked for, what its trees meet there is drawn too.
    """
    now = session.clock.now
    found = foreseen(session, now)
    if not isinstance(found, Foreseen):
        return None
    day, night = _day_and_night(session, found.place)
    spans = [span for span in (day, night) if span[1] > now]
    near = [
        (spot.worst.margin, span, ahead, spot)
        for span, ahead in zip(spans, hours_ahead(session, found, list(map(_whole, spans))), strict=True)
        for spot in ahead.spots
        if spot.worst is not None and (span is day or spot.worst.falling)
    ]
    if not near:
        return None
    _, span, ahead, spot = min(near, key=lambda one: one[0])
    moves = timed_events(session, now)
    shelter, where = _shelter(session, spot, moves), ""
    if shelter is not None and spot.worst is not None:
        (ahead,) = hours_ahead(session, found, [_whole(span)], spot.worst.trees, shelter)
        spot, where = ahead.spots[0], session.style.say(HOURS["there_spot"], spot=shelter.name)
    strip = strip_of(session, ahead, spot, span, moves, where)
    return Markup(strip.svg), strip.sentence  # noqa: S704 - our own


def _shelter(session: Session, spot: SpotHours, moves: Sequence[TimedEvent]) -> Spot | None:
    """Return where the trees that are most at risk are asked to go."""
    trees = set(spot.worst.trees) if spot.worst else set()
    asked = [move.to for move in moves if move.to and not move.at and trees & set(move.tree_ids)]
    return session.spots.get(asked[0]) if asked else None


def _day_and_night(session: Session, place: Place) -> tuple[Span, Span]:
    """Return today from sunrise to sunset, all of it where the sun hardly rises or does not set, and the night from noon to noon."""
    whole = _midnight(session, session.today), _midnight(session, session.today + timedelta(days=1))
    sun = sun_times(place.latitude, place.longitude, session.today, place.zone)
    noon = solar_noon(place.longitude, session.today, place.zone).astimezone(place.zone)
    night = noon, noon + timedelta(days=1)
    if sun.rise is None or sun.set is None or sun.set - sun.rise < SHORTEST:
        return whole, night
    return (sun.rise.astimezone(place.zone), sun.set.astimezone(place.zone)), night


def _whole(span: Span) -> Span:
    """Return a span with the hour in which it begins."""
    return span[0].replace(minute=0, second=0, microsecond=0), span[1]


def _midnight(session: Session, day: date) -> datetime:
    return datetime.combine(day, time(), session.zone)
