"""Weather in: ``weather fetch``, ``import``, ``check``, ``status``; and ``place``."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Annotated, get_args

import typer

from calendar_core.app.clock import utc_now
from calendar_core.app.errors import Refusal
from calendar_core.app.fetching import FAR_KM, missing_years
from calendar_core.app.getting import fetched, forecast_of
from calendar_core.app.measured import read_measured
from calendar_core.app.options import Db, GardenName, Json, Today, day_or_none, read_day
from calendar_core.app.output import columns, print_json, say
from calendar_core.app.services import HELP, Answers, services
from calendar_core.app.session import Session, open_session
from calendar_core.app.snapshots import snapshot_of
from calendar_core.app.weather_at import near_normals
from calendar_core.planning.frost_dates import frost_dates
from calendar_core.planning.planner import air_over
from calendar_core.storage import gardens
from calendar_core.storage.services import StoredForecast, list_rejected
from calendar_core.weather.quality import Unit
from calendar_core.weather.sources.http import ServiceError
from calendar_core.weather.sources.open_meteo import PLACES_CREDIT

weather_app = typer.Typer(
    help="The weather plans are made from.", no_args_is_help=True, rich_markup_mode=None
)


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.add_typer(weather_app, name="weather")
    app.command()(place)


@weather_app.command("import")
def weather_import(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE", help="CSV with a date, a lowest and a highest temperature a day."),
    ],
    unit: Annotated[str, typer.Option(help="C, F, or tenths (of a degree Celsius).")] = "C",
    column: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME=HEADER", help="Which column is date, t_min, t_max or precipitation."),
    ] = None,
    missing: Annotated[
        list[float] | None, typer.Option(metavar="CODE", help="A number that stands for not measured.")
    ] = None,
    station: Annotated[
        str | None, typer.Option(help="Name of the station.", show_default="the file's name")
    ] = None,
    credit: Annotated[str, typer.Option(help="Credit line that the data's terms ask for.")] = "",
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Bring in measured days; days that are there already are renewed."""
    session = open_session(db, garden, day_or_none(today))
    if unit not in get_args(Unit):
        raise Refusal(f"--unit {unit}: right would be one of {', '.join(get_args(Unit))}")
    checked: Unit = next(known for known in get_args(Unit) if known == unit)
    mapping = dict(_pair(text) for text in column or [])
    try:
        near = near_normals(session.garden.latitude, session.garden.longitude)[0]
    except Refusal:
        near = None
    days = read_measured(
        file, unit=checked, columns=mapping, missing=missing or (), near=near, station=station, credit=credit
    )
    with session.store.begin() as connection:
        series = days.store(connection, session.garden)
        gardens.update_garden(connection, replace(session.garden, weather_series=series))
    measured = days.file.series
    say(f"{int(measured.measured.sum())} days from {measured.start} to {measured.end} are in.")
    for note in days.file.notes:
        say(note, indent=2)


def _pair(text: str) -> tuple[str, str]:
    name, sign, header = text.partition("=")
    if not sign:
        raise Refusal(f"--column {text}: right would be NAME=HEADER, such as t_max=TMAX")
    return name.strip(), header.strip()


@weather_app.command("fetch", epilog=HELP)
def weather_fetch(
    years: Annotated[int, typer.Option(min=0, max=40, help="How many past years to have.")] = 30,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Get past days and the newest forecast of the garden from a weather service; only what is missing is asked."""
    session = open_session(db, garden, day_or_none(today))
    asked = services(Answers(session.store), lambda: session.clock.now)
    wanted = missing_years(session.store, session.garden, session.today, years)
    for one in fetched(session, asked, wanted, quiet=False):
        if one.rejected:
            say(f"{one.year}: {one.rejected} values were not believed; see: leafclock weather check")
    ahead = forecast_of(session, asked)
    if wanted:
        say(f"{len(wanted)} years of past days are in, from {wanted[-1]} to {wanted[0]}.")
    else:
        say("No past day was missing.")
    say(_forecast_line(ahead, session))
    if ahead.distance_km > FAR_KM:
        say(
            f"The service answers for a place {ahead.distance_km:.0f} km away: look whether its climate is yours."
        )
    say(f"Credit: {ahead.credit}.")


@weather_app.command("check")
def weather_check(
    db: Db = None, garden: GardenName = None, today: Today = None, as_data: Json = False
) -> None:
    """Show the values that were not believed, and why."""
    session = open_session(db, garden, day_or_none(today))
    series = [
        one for one in (session.garden.weather_series, session.garden.service_series) if one is not None
    ]
    with session.store.read() as connection:
        found = [
            value for one in series for value in list_rejected(connection, one) if value.day <= session.today
        ]
    if as_data:
        print_json(found)
        return
    if not series:
        say("No measured days are in yet. Get some with: leafclock weather fetch")
    elif not found:
        say("Every value that came in was believed.")
    columns(
        [
            (one.day.isoformat(), one.column, "" if one.value is None else f"{one.value:g}", one.reason)
            for one in found
        ],
        indent=0,
    )


@weather_app.command("status")
def weather_status(
    db: Db = None, garden: GardenName = None, today: Today = None, as_data: Json = False
) -> None:
    """Tell what weather today's plan rests on."""
    session = open_session(db, garden, day_or_none(today))
    known, measured = session.weather.sky.traces.known, session.weather.measured
    if as_data:
        print_json({"known": known, "credit": session.weather.credit, "level": session.weather.level})
        return
    say(session.speaker.weather(known, session.weather.sky.traces.t_min_c.shape[0]))
    if measured is not None and known.measured_to is not None:
        used = measured.until(session.today)
        say(f"Measured: {int(used.measured.sum())} days from {measured.start} to {known.measured_to}.")
        behind = (session.today - known.measured_to).days
        if behind > 1:
            say(
                f"The last {behind} days are not measured yet; forecast or possible weather stands in for them."
            )
    _services_lines(session)
    if session.weather.credit:
        say(f"Credit: {session.weather.credit}.")


@weather_app.command("behind")
def weather_behind(
    day: Annotated[str, typer.Argument(metavar="DAY", help="Dates as they were published on or before it.")],
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Tell what the dates that were published by a day were made from."""
    session = open_session(db, garden, day_or_none(today))
    wanted = read_day(day)
    found = snapshot_of(session, wanted)
    if found is None:
        raise Refusal(
            f"nothing was published by {wanted}; right would be a day after: leafclock calendar FILE.ics"
        )
    on, data = found
    if as_data:
        print_json({"day": on, **data})
        return
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


def _services_lines(session: Session) -> None:
    """Print what came from services: levels, the forecast and its age, the usual frosts."""
    weather = session.weather
    if weather.level.days:
        low, high = (session.style.difference(d) for d in (weather.level.t_min_c, weather.level.t_max_c))
        say(
            f"Your own days read {low} (nights) and {high} (days) above the service over {weather.level.days} shared days."
        )
    if weather.forecast is not None:
        say(_forecast_line(weather.forecast, session))
        age = session.today - weather.forecast.issued.date()
        if age.days > 1:
            say(f"That is {age.days} days old; newer: leafclock weather fetch")
    air = air_over(session.garden, weather.sky, session.knowledge, session.today)
    for words, found in frost_dates(air, session.today).items():
        when = "hardly ever comes here" if found is None else session.speaker.likely(found)
        say(f"{words}: {when}.")


def _forecast_line(forecast: StoredForecast, session: Session) -> str:
    last = forecast.start + timedelta(days=forecast.t_min_c.shape[1] - 1)
    issued = session.style.day(forecast.issued.date(), session.today)
    members = f"{len(forecast.t_min_c)} members" if len(forecast.t_min_c) > 1 else "one course"
    return f"Forecast of {issued} from {forecast.source}, {members}, to {session.style.day(last, session.today)}."


def place(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help="A town, such as 'Matsumoto' or 'Paris, France'.")
    ],
    as_data: Json = False,
) -> None:
    """Look a place up: its latitude, longitude, height and time zone, several where the name is common."""
    asked = services(None, utc_now)
    try:
        found = asked.history.places(name)
    except ServiceError as error:
        raise Refusal(str(error)) from None
    if as_data:
        print_json(found)
        return
    if not found:
        raise Refusal(f"no place '{name}' was found; right would be a town nearby, or --lat and --lon")
    rows = [
        (one.name, ", ".join(part for part in (one.region, one.country) if part),
         f"--lat {one.latitude:.2f} --lon {one.longitude:.2f}", one.zone)
        for one in found
    ]  # fmt: skip
    columns(rows, indent=0)
    say(PLACES_CREDIT)
