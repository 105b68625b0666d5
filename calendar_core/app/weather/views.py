"""What commands print about weather: what a plan rests on, what was not believed, what dates came from."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from calendar_core.app.shell.output import columns, say
from calendar_core.app.weather.fetching import YEARS_WANTED, hours_kept, missing_years
from calendar_core.planning.planner import air_over
from calendar_core.planning.seasons.frost_dates import Frost, frost_dates
from calendar_core.storage.services import list_rejected
from calendar_core.storage.weather import days_in, get_series
from calendar_core.weather.hourly import HOUR
from calendar_core.wording.garden import weather_text
from calendar_core.wording.garden.weather_text import (
    FROSTS,
    REJECTED,
    STATUS,
    behind_lines,
    frost_words,
    level_lines,
    record_line,
    years_missing,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.storage.services import RejectedValue, StoredForecast, StoredHours


def status_data(session: Session) -> dict[str, Any]:
    """Return what `status_view` tells, as data."""
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


def status_view(session: Session) -> None:
    """Print source, age and cover of the weather, and the usual frosts."""
    known, measured = session.weather.sky.traces.known, session.weather.measured
    style = session.style
    say(session.speaker.weather(known, session.weather.sky.traces.t_min_c.shape[0]))
    for line in _sources(session):
        say(line)
    if measured is not None and known.measured_to is not None:
        behind = (session.today - known.measured_to).days
        if behind > 1:
            say(style.say(STATUS["behind"], n=behind))
    missing = _years_missing(session)
    if session.garden.service_series is not None and missing:
        say(years_missing(style, len(missing)))
    _level(session)
    ahead = session.weather.forecast
    if ahead is not None:
        say(forecast_line(ahead, session))
        _age_line(ahead, session)
    hours = _hours_known(session)
    if hours is not None:
        say(hours_line(hours, session))
    elif ahead is not None:
        say(style.say(STATUS["no_hours"]))
    frosts = sorted(
        _frost(session).items(), key=lambda frost: frost[1].dates.likely if frost[1] else date.max
    )
    for name, found in frosts:  # the next one first
        say(style.say(FROSTS[name], when=frost_words(session.speaker, found)))
    if session.weather.credit:
        say(style.say(STATUS["credit"], credit=session.weather.credit))


def _sources(session: Session) -> Iterator[str]:
    """Yield one line for each record: whose, how many days, from when to when."""
    for identity in _series(session):
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


def _level(session: Session) -> None:
    if (level := session.weather.level).days:
        for line in level_lines(session.style, level, moved=session.garden.own_level):
            say(line)


def _age_line(ahead: StoredForecast, session: Session) -> None:
    age, style = (session.today - ahead.issued_here.date()).days, session.style
    if age > 1:
        say(style.say(STATUS["old"], n=age))
    elif ahead.expires is not None and ahead.expires > session.clock.now:
        say(style.say(STATUS["newest"], hour=f"{ahead.expires:%H:%M}"))
    else:
        say(style.say(STATUS["newer"]))


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


def rejected_values(session: Session) -> list[RejectedValue]:
    """Return the values up to today that were not believed, of the garden's own and its service's days."""
    series = _series(session)
    with session.store.read() as connection:
        return [
            value
            for identity in series
            for value in list_rejected(connection, identity)
            if value.day <= session.today
        ]


def rejected_view(session: Session, found: Sequence[RejectedValue]) -> None:
    """Print values that were not believed, each with its reason."""
    if not _series(session):
        say(session.style.say(REJECTED["no_days"]))
    elif not found:
        say(session.style.say(REJECTED["none"]))
    rows = [
        (f"{value.day} {value.hour}{' UTC' if value.hour else ''}".strip(), value.column,
         "" if value.value is None else f"{value.value:g}", value.reason)
        for value in found
    ]  # fmt: skip
    columns(rows, indent=0)


def _series(session: Session) -> list[Any]:
    garden = session.garden
    return [identity for identity in (garden.weather_series, garden.service_series) if identity is not None]


def snapshot_view(session: Session, on: date, data: Mapping[str, Any]) -> None:
    """Print what the dates published on a day were made from."""
    for line in behind_lines(session.speaker, on, data):
        say(line)
