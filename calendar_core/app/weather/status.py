"""What weather a plan rests on, in sentences and as data."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from calendar_core.app.weather.fetching import YEARS_WANTED, hours_kept, missing_years
from calendar_core.planning.planner import air_over
from calendar_core.planning.seasons.frost_dates import Frost, frost_dates
from calendar_core.storage.weather import days_in, get_series
from calendar_core.weather.hourly import HOUR
from calendar_core.wording.garden import weather_text
from calendar_core.wording.garden.weather_text import (
    FROSTS,
    STATUS,
    frost_words,
    level_lines,
    record_line,
    years_missing,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from calendar_core.app.shell.session import Session
    from calendar_core.storage.services import StoredForecast, StoredHours


def status_data(session: Session) -> dict[str, Any]:
    """Return what `status_lines` tells, as data."""
    weather = session.weather
    ahead, hours = weather.forecast, _hours_known(session)
    return {
        "known": weather.sky.traces.known,
        "credit": weather.credit,
        "level": weather.level,
        "own_level": session.garden.own_level,
        "years_missing": _years_missing(session),
        "forecast_fetched": None if ahead is None else ahead.fetched,
        "forecast_expires": None if ahead is None else ahead.expires,
        "hours_issued": None if hours is None else hours.issued,
        "hours_to": None if hours is None else hours.reach,
        "frost": _frost(session),
    }


def status_lines(session: Session) -> Iterator[str]:
    """Yield source, age and cover of the weather, and the usual frosts, a sentence each."""
    known, measured = session.weather.sky.traces.known, session.weather.measured
    style = session.style
    yield session.speaker.weather(known, session.weather.sky.traces.t_min_c.shape[0])
    yield from _sources(session)
    if measured is not None and known.measured_to is not None:
        behind = (session.today - known.measured_to).days
        if behind > 1:
            yield style.say(STATUS["behind"], n=behind)
    missing = _years_missing(session)
    if session.garden.service_series is not None and missing:
        yield years_missing(style, len(missing))
    yield from _level(session)
    yield from _ahead(session)
    frosts = sorted(
        _frost(session).items(), key=lambda frost: frost[1].dates.likely if frost[1] else date.max
    )
    for name, found in frosts:  # the next one first
        yield style.say(FROSTS[name], when=frost_words(session.speaker, found))
    if session.weather.credit:
        yield style.say(STATUS["credit"], credit=session.weather.credit)


def _ahead(session: Session) -> Iterator[str]:
    """Yield what is known of the days and the hours to come."""
    ahead = session.weather.forecast
    if ahead is not None:
        yield forecast_line(ahead, session)
        yield _age_line(ahead, session)
    hours = _hours_known(session)
    if hours is not None:
        yield hours_line(hours, session)
    elif ahead is not None:
        yield session.style.say(STATUS["no_hours"])


def _sources(session: Session) -> Iterator[str]:
    """Yield one line for each record: whose, how many days, from when to when."""
    for identity in series_of(session):
        with session.store.read() as connection:
            series = get_series(connection, identity)
            stored = days_in(connection, identity)
        days = None if stored is None else stored.until(session.today)
        if days is not None and days.measured_to is not None:
            count = int(days.measured.sum())
            yield record_line(session.style, series.place, count, days.start, days.measured_to)


def _years_missing(session: Session) -> list[int]:
    """Return the past years, of those a garden should have, that its service's days lack."""
    wanted = missing_years(session.store, session.garden, session.today, YEARS_WANTED)
    return [year for year in wanted if year < session.today.year]


def _level(session: Session) -> Iterator[str]:
    if (level := session.weather.level).days:
        yield from level_lines(session.style, level, moved=session.garden.own_level)


def _age_line(ahead: StoredForecast, session: Session) -> str:
    age, style = (session.today - ahead.issued_here.date()).days, session.style
    if age > 1:
        return style.say(STATUS["old"], n=age)
    if ahead.expires is not None and ahead.expires > session.clock.now:
        return style.say(STATUS["newest"], hour=f"{ahead.expires:%H:%M}")
    return style.say(STATUS["newer"])


def _frost(session: Session) -> dict[str, Frost | None]:
    air = air_over(session.garden, session.weather.sky, session.knowledge, session.today)
    return frost_dates(air, session.today)


def forecast_line(forecast: StoredForecast, session: Session) -> str:
    """Return one sentence about a forecast: whose, of when, how far."""
    members, days = forecast.t_min_c.shape
    issued, last = forecast.issued_here.date(), forecast.start + timedelta(days=days - 1)
    return weather_text.forecast_line(session.speaker, forecast.source, issued, members, last)


def hours_line(hours: StoredHours, session: Session) -> str:
    """Return one sentence about the hours of the coming days: whose, how old, how far."""
    until = hours.reach.astimezone(ZoneInfo(session.garden.zone))
    age_h = int((session.clock.now - hours.issued) / HOUR)
    return weather_text.hours_line(session.speaker, hours.source, age_h, until)


def _hours_known(session: Session) -> StoredHours | None:
    """Return the newest hours of the coming days if they were there on the session's day."""
    hours, zone = hours_kept(session.store, session.garden), ZoneInfo(session.garden.zone)
    return None if hours is None or hours.issued.astimezone(zone).date() > session.today else hours


def series_of(session: Session) -> list[Any]:
    """Return the records of a garden: its own and its service's."""
    garden = session.garden
    return [identity for identity in (garden.weather_series, garden.service_series) if identity is not None]
