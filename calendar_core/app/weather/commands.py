"""Weather in: ``weather fetch``, ``import``, ``check``, ``status``, ``behind``, ``level``; and ``place``."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, get_args
from zoneinfo import ZoneInfo

import typer

from calendar_core.app.plan.snapshots import snapshot_of
from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none, read_day
from calendar_core.app.shell.output import columns, print_json, say
from calendar_core.app.shell.plan_weather import near_normals
from calendar_core.app.shell.session import Session, open_session
from calendar_core.app.weather.fetch_with_progress import (
    each_tried,
    fetched,
    forecast_of,
    hours_of,
    station_of,
)
from calendar_core.app.weather.fetching import FAR_KM, YEARS_WANTED, missing_years, service_days
from calendar_core.app.weather.measured import MeasuredDays, read_measured
from calendar_core.app.weather.services import HELP, Answers, services
from calendar_core.app.weather.status import forecast_line, hours_line, status_data
from calendar_core.app.weather.views import rejected_values, rejected_view, snapshot_view, status_view
from calendar_core.storage import gardens
from calendar_core.weather.quality import Unit
from calendar_core.weather.sources.http import ServiceError
from calendar_core.wording.garden.weather_text import FETCHED, STATUS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.weather.services import Services
    from calendar_core.storage.services import StoredForecast, StoredHours

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
        typer.Argument(
            metavar="FILE",
            help="CSV with a lowest and a highest temperature a day, or a temperature each hour or oftener; or a GHCN-Daily record.",
        ),
    ],
    unit: Annotated[str, typer.Option(help="C, F, or tenths (of a degree Celsius).")] = "C",
    column: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME=HEADER",
            help="Which column is date, t_min, t_max or precipitation; of hours: time, date, temperature.",
        ),
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
    """Bring in measured weather; days that are there already are renewed."""
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
        file, zone=ZoneInfo(session.garden.zone), unit=checked, columns=mapping, missing=missing or (), near=near,
        other=service_days(session.store, session.garden), station=station, credit=credit,
    )  # fmt: skip
    _keep(session, days)


def _pair(text: str) -> tuple[str, str]:
    name, sign, header = text.partition("=")
    if not sign:
        raise Refusal(f"--column {text}: right would be NAME=HEADER, such as t_max=TMAX")
    return name.strip(), header.strip()


def _keep(session: Session, days: MeasuredDays) -> None:
    with session.store.begin() as connection:
        series = days.store(connection, session.garden)
        gardens.update_garden(connection, replace(session.garden, weather_series=series))
    measured = days.file.series
    n = session.style.number_of(int(measured.measured.sum()), "day", "days")
    say(session.style.say(FETCHED["in"], days=n, first=measured.start, last=measured.end))
    for note in days.file.notes:
        say(note, indent=2)


@weather_app.command("fetch", epilog=HELP)
def weather_fetch(
    years: Annotated[int, typer.Option(min=0, max=40, help="How many past years to have.")] = YEARS_WANTED,
    station: Annotated[
        str | None,
        typer.Option(metavar="ID", help="A station of GHCN-Daily, such as USW00024233, to plan from."),
    ] = None,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Get past days and the newest forecast, by day and by hour, from a weather service; only what is missing is asked."""
    session = open_session(db, garden, day_or_none(today))
    asked = services(Answers(session.store), lambda: session.clock.now)
    if station is not None:
        _keep(session, station_of(asked, station))
        return
    got: list[StoredForecast | StoredHours] = []
    faults = each_tried(
        lambda: _fetch_past(session, asked, years),
        lambda: got.append(_fetch_days(session, asked)),
        lambda: got.append(_fetch_hours(session, asked)),
    )
    _whose(session, got)
    if faults:
        raise Refusal(*faults)


def _fetch_past(session: Session, asked: Services, years: int) -> None:
    wanted, style = missing_years(session.store, session.garden, session.today, years), session.style
    for fetch in fetched(session, asked, wanted, quiet=False):
        if fetch.rejected:
            values = style.number_of(fetch.rejected, "value", "values")
            say(style.say(FETCHED["rejected"], year=fetch.year, values=values))
    if wanted:
        told = style.number_of(len(wanted), "year", "years")
        say(style.say(FETCHED["years"], years=told, first=wanted[-1], last=wanted[0]))
    else:
        say(style.say(FETCHED["none"]))


def _fetch_days(session: Session, asked: Services) -> StoredForecast:
    days = forecast_of(session, asked)
    say(forecast_line(days, session))
    return days


def _fetch_hours(session: Session, asked: Services) -> StoredHours:
    hours = hours_of(session, asked)
    say(hours_line(hours, session))
    return hours


def _whose(session: Session, got: Sequence[StoredForecast | StoredHours]) -> None:
    """Print the credits of what was fetched, and whether it is of a place far away."""
    far_km = max((forecast.distance_km for forecast in got), default=0.0)
    if far_km > FAR_KM:
        say(session.style.say(FETCHED["far"], km=f"{far_km:.0f}"))
    for credit in dict.fromkeys(forecast.credit for forecast in got):
        say(session.style.say(STATUS["credit"], credit=credit))


@weather_app.command("check")
def weather_check(
    db: Db = None, garden: GardenName = None, today: Today = None, as_data: Json = False
) -> None:
    """Show the values that were not believed, and why."""
    session = open_session(db, garden, day_or_none(today))
    found = rejected_values(session)
    if as_data:
        print_json(found)
    else:
        rejected_view(session, found)


@weather_app.command("status")
def weather_status(
    db: Db = None, garden: GardenName = None, today: Today = None, as_data: Json = False
) -> None:
    """Tell what weather today's plan rests on."""
    session = open_session(db, garden, day_or_none(today))
    if as_data:
        print_json(status_data(session))
    else:
        status_view(session)


@weather_app.command("level")
def weather_level(
    setting: Annotated[
        str, typer.Argument(metavar="on|off", help="Whether the service's days are brought to your level.")
    ],
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Switch on or off that a service's days are moved to what your own thermometer reads."""
    session = open_session(db, garden, day_or_none(today))
    if setting not in ("on", "off"):
        raise Refusal(f"level {setting}: right would be on or off")
    with session.store.begin() as connection:
        gardens.update_garden(connection, replace(session.garden, own_level=setting == "on"))
    say(session.style.say(FETCHED["level_on" if setting == "on" else "level_off"]))


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
    if as_data:
        print_json({"day": found[0], **found[1]})
    else:
        snapshot_view(session, *found)


def place(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help="A town, such as 'Matsumoto' or 'Paris, France'.")
    ],
    as_data: Json = False,
) -> None:
    """Look a place up: its latitude, longitude, height and time zone, several where the name is common."""
    asked = services(None, utc_now)
    try:
        found = asked.places.places(name)
    except ServiceError as error:
        raise Refusal(str(error)) from None
    if as_data:
        print_json(found)
        return
    if not found:
        raise Refusal(f"no place '{name}' was found; right would be a town nearby, or --lat and --lon")
    rows = [
        (town.name, ", ".join(part for part in (town.region, town.country) if part),
         f"--lat {town.latitude:.2f} --lon {town.longitude:.2f}", _height(town.elevation_m), town.zone)
        for town in found
    ]  # fmt: skip
    columns(rows, indent=0)
    say(asked.places.places_credit)


def _height(elevation_m: float | None) -> str:
    return "" if elevation_m is None else f"--elevation {elevation_m:.0f}"
