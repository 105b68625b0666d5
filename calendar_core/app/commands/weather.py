"""Weather in: ``weather import`` and ``weather status``."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated, get_args

import typer

from calendar_core.app.errors import Refusal
from calendar_core.app.measured import read_measured
from calendar_core.app.options import Db, GardenName, Json, Today, day_or_none
from calendar_core.app.output import print_json, say
from calendar_core.app.session import open_session
from calendar_core.app.weather_at import near_normals
from calendar_core.storage import gardens
from calendar_core.weather.quality import Unit

weather_app = typer.Typer(
    help="The weather plans are made from.", no_args_is_help=True, rich_markup_mode=None
)


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.add_typer(weather_app, name="weather")


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


@weather_app.command("status")
def weather_status(
    db: Db = None, garden: GardenName = None, today: Today = None, as_data: Json = False
) -> None:
    """Tell what weather today's plan rests on."""
    session = open_session(db, garden, day_or_none(today))
    known, measured = session.weather.sky.traces.known, session.weather.measured
    if as_data:
        print_json({"known": known, "credit": session.weather.credit})
        return
    say(session.speaker.weather(known, session.weather.sky.traces.t_min_c.shape[0]))
    if measured is not None and known.measured_to is not None:
        used = measured.until(session.today)
        say(f"Measured: {int(used.measured.sum())} days from {measured.start} to {known.measured_to}.")
        behind = (session.today - known.measured_to).days
        if behind > 1:
            say(f"The last {behind} days are not measured yet; possible weather stands in for them.")
    if session.weather.credit:
        say(f"Credit: {session.weather.credit}.")
