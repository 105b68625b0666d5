"""What commands print about weather: what a plan rests on, what was not believed, what dates came from."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from calendar_core.app.shell.output import columns, counted, say
from calendar_core.app.weather.fetching import YEARS_WANTED, hours_kept, missing_years
from calendar_core.planning.planner import air_over
from calendar_core.planning.seasons.frost_dates import Frost, frost_dates
from calendar_core.storage.services import list_rejected
from calendar_core.storage.weather import days_in, get_series
from calendar_core.weather.hourly import HOUR

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.storage.services import RejectedValue, StoredForecast, StoredHours

FROSTS = {"last_spring_frost": "Last frost of spring", "first_autumn_frost": "First frost of autumn"}


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
    say(session.speaker.weather(known, session.weather.sky.traces.t_min_c.shape[0]))
    for line in _sources(session):
        say(line)
    if measured is not None and known.measured_to is not None:
        behind = (session.today - known.measured_to).days
        if behind > 1:
            say(
                f"The last {behind} days are not measured yet; forecast or possible weather stands in for them."
            )
    missing = _years_missing(session)
    if session.garden.service_series is not None and missing:
        say(f"Of {counted(len(missing), 'year')} the service's days are not in: leafclock weather fetch")
    _level_line(session)
    ahead = session.weather.forecast
    if ahead is not None:
        say(forecast_line(ahead, session))
        _age_line(ahead, session)
    hours = _hours_known(session)
    if hours is not None:
        say(hours_line(hours, session))
    elif ahead is not None:
        say("No hours of the coming days are in: leafclock weather fetch")
    frosts = sorted(_frost(session).items(), key=lambda one: one[1].dates.likely if one[1] else date.max)
    for name, found in frosts:  # the next one first
        say(f"{FROSTS[name]}: {frost_words(found, session)}.")
    if session.weather.credit:
        say(f"Credit: {session.weather.credit}.")


def _sources(session: Session) -> Iterator[str]:
    """Yield one line for each record: whose, how many days, from when to when."""
    for one in _series(session):
        with session.store.read() as connection:
            series = get_series(connection, one)
            stored = days_in(connection, one)
        days = None if stored is None else stored.until(session.today)
        if days is not None and days.measured_to is not None:
            count = counted(int(days.measured.sum()), "day")
            yield f"{series.place}: {count} from {days.start} to {days.measured_to}."


def _years_missing(session: Session) -> list[int]:
    """Return the past years, of those a garden should have, that its service's days lack."""
    wanted = missing_years(session.store, session.garden, session.today, YEARS_WANTED)
    return [year for year in wanted if year < session.today.year]


def _level_line(session: Session) -> None:
    level = session.weather.level
    if not level.days:
        return
    low, high = (session.style.difference(value) for value in (level.t_min_c, level.t_max_c))
    say(
        f"Your own days read {low} (nights) and {high} (days) above the service over {level.days} shared days."
    )
    if session.garden.own_level:
        say("The service's days are moved by that; as they come with: leafclock weather level off")
    else:
        say("The service's days are taken as they come; moved by that with: leafclock weather level on")


def _age_line(ahead: StoredForecast, session: Session) -> None:
    age = (session.today - ahead.issued_here.date()).days
    if age > 1:
        say(f"That is {age} days old; newer: leafclock weather fetch")
    elif ahead.expires is not None and ahead.expires > session.clock.now:
        say(f"The service has no newer one before {ahead.expires:%H:%M} UTC.")
    else:
        say("A newer one: leafclock weather fetch")


def _frost(session: Session) -> dict[str, Frost | None]:
    air = air_over(session.garden, session.weather.sky, session.knowledge, session.today)
    return frost_dates(air, session.today)


def frost_words(found: Frost | None, session: Session) -> str:
    """Return when a frost is likely; past its usual date, the chance that one still comes."""
    if found is None:
        return "hardly ever comes here"
    if found.dates.likely >= session.today:
        return session.speaker.likely(found.dates)
    usual = session.style.day(found.dates.likely, session.today)
    by = session.style.day(found.dates.late, session.today)
    until = f", by {by} in nine years of ten" if found.dates.late >= session.today else ""
    return f"likely over since {usual}; in {round(found.chance * 100)} of 100 years one still comes{until}"


def forecast_line(forecast: StoredForecast, session: Session) -> str:
    """Return one sentence about a forecast: whose, of when, how far."""
    last = forecast.start + timedelta(days=forecast.t_min_c.shape[1] - 1)
    issued = session.style.day(forecast.issued_here.date(), session.today)
    members = f"{len(forecast.t_min_c)} members" if len(forecast.t_min_c) > 1 else "one course"
    return f"Forecast of {issued} from {forecast.source}, {members}, to {session.style.day(last, session.today)}."


def hours_line(hours: StoredHours, session: Session) -> str:
    """Return one sentence about the hours of the coming days: whose, how old, how far."""
    until = hours.reach.astimezone(ZoneInfo(session.garden.zone))
    age_h = int((session.clock.now - hours.issued) / HOUR)
    old = f"{counted(age_h, 'hour')} old" if age_h > 0 else "less than an hour old"
    to = f"{session.style.day(until.date(), session.today)} {session.style.clock(until)}"
    return f"Hour by hour from {hours.source}, {old}, to {to}."


def _hours_known(session: Session) -> StoredHours | None:
    """Return the newest hours of the coming days if they were there on the session's day."""
    hours, zone = hours_kept(session.store, session.garden), ZoneInfo(session.garden.zone)
    return None if hours is None or hours.issued.astimezone(zone).date() > session.today else hours


def rejected_values(session: Session) -> list[RejectedValue]:
    """Return the values up to today that were not believed, of the garden's own and its service's days."""
    series = _series(session)
    with session.store.read() as connection:
        return [
            value for one in series for value in list_rejected(connection, one) if value.day <= session.today
        ]


def rejected_view(session: Session, found: Sequence[RejectedValue]) -> None:
    """Print values that were not believed, each with its reason."""
    if not _series(session):
        say("No measured days are in yet. Get some with: leafclock weather fetch")
    elif not found:
        say("Every value that came in was believed.")
    rows = [
        (f"{one.day} {one.hour}{' UTC' if one.hour else ''}".strip(), one.column,
         "" if one.value is None else f"{one.value:g}", one.reason)
        for one in found
    ]  # fmt: skip
    columns(rows, indent=0)


def _series(session: Session) -> list[Any]:
    garden = session.garden
    return [one for one in (garden.weather_series, garden.service_series) if one is not None]


def snapshot_view(session: Session, on: date, data: Mapping[str, Any]) -> None:
    """Print what the dates published on a day were made from."""
    known = data["weather"]
    say(
        f"Published on {session.style.day(on, session.today)} by version {data['program']}, knowledge {data['knowledge']}."
    )
    rests = {"normals": f"monthly normals of {known['place']}"}.get(
        known["kind"], f"{known['years']} past years of {known['place']}"
    )
    say(f"Weather: {rests}, measured to {known['measured_to'] or 'no day'}.")
    if known["forecast"]:
        ahead = known["forecast"]
        say(
            f"Forecast: {ahead['source']}, issued {ahead['issued']}, {ahead['members']} members, to {ahead['to']}."
        )
    say(f"Log: {data['entries']} entries.")
