"""``start``: one's own garden in a few answers; ``demo`` and ``places`` beside it."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import Annotated

import typer

from calendar_core.app.first_day.designing import designed, garden_part
from calendar_core.app.first_day.first_weather import FIRST_YEARS, services_in_memory
from calendar_core.app.garden.adding import parts_from_text
from calendar_core.app.garden.founding import keep
from calendar_core.app.garden.garden_file import GardenFile, read_garden_file
from calendar_core.app.garden.place import coordinates
from calendar_core.app.plan.plan_data import plan_data
from calendar_core.app.plan.views.plan import first_plan
from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.options import Db, Json, Today, day_or_none
from calendar_core.app.shell.output import columns, print_json, say
from calendar_core.app.shell.plan_weather import bundled_normals
from calendar_core.app.shell.progress import notice
from calendar_core.app.shell.session import Session, knowledge, open_database, open_session
from calendar_core.app.weather.fetch_with_progress import (
    each_tried,
    fetched,
    forecast_of,
    hours_of,
    in_background,
)
from calendar_core.app.weather.fetching import YEARS_WANTED, missing_years
from calendar_core.app.weather.services import Services, source_set
from calendar_core.wording.garden.first_day_text import START, fetched_behind, without_weather
from calendar_core.wording.style import Style


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(start)
    app.command()(demo)
    app.command()(places)


def start(
    place: Annotated[str | None, typer.Option(help="A bundled place; see: leafclock places")] = None,
    lat: Annotated[float | None, typer.Option(help="Latitude in degrees, south negative.")] = None,
    lon: Annotated[float | None, typer.Option(help="Longitude in degrees, west negative.")] = None,
    elevation: Annotated[float | None, typer.Option(help="Height of the garden in metres.")] = None,
    zone: Annotated[
        str | None, typer.Option(help="Time zone, such as Europe/Berlin.", show_default="that of the place")
    ] = None,
    trees: Annotated[
        str | None, typer.Option(help="Trees, such as: '3 Japanese maple small; black pine'.")
    ] = None,
    name: Annotated[str, typer.Option(help="The garden's name.")] = "My garden",
    units: Annotated[str, typer.Option(help="metric or us.")] = "metric",
    weather: Annotated[Path | None, typer.Option(help="Daily weather of the place as CSV.")] = None,
    file: Annotated[
        Path | None, typer.Option("--from", metavar="FILE", help="A garden file instead of these options.")
    ] = None,
    years: Annotated[
        int, typer.Option(min=1, max=40, help="How many past years of weather to have in the end.")
    ] = YEARS_WANTED,
    offline: Annotated[bool, typer.Option("--offline", help="Ask no weather service.")] = False,
    db: Db = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Found your garden and print its first plan.

    Asks for what is not given: where the garden is, and which trees stand in it.
    """
    day = day_or_none(today)
    knowledge()  # a fault of config/ is told before anything is asked
    online = day is None and not offline and source_set() != "off"
    asked = services_in_memory(utc_now) if online else None
    wanted = (
        read_garden_file(file)
        if file
        else _asked(place, lat, lon, elevation, zone, trees, name, units, asked)
    )
    found = designed(wanted, day, asked, weather, file)
    with closing(open_database(db)) as store:  # made only now: a refusal leaves no file behind
        keep(store, found.made, found.days)
    session = open_session(db, found.made.garden.name, day)
    if asked is not None:
        session = _with_weather(session, asked, db, years if found.past_years else 0)
    if as_data:
        print_json(plan_data(session))
    else:
        first_plan(session)


def _with_weather(session: Session, asked: Services, db: str | None, years: int) -> Session:
    """Return the session with ten years of local weather and the forecast, or without what cannot be had.

    The years before these follow while the grower reads. With no ``years`` past days are not asked for.
    """
    first = min(years, FIRST_YEARS)
    wanted = missing_years(session.store, session.garden, session.today, first) if years else []
    faults = each_tried(
        lambda: list(fetched(session, asked, wanted, quiet=False)),
        lambda: forecast_of(session, asked),
        lambda: hours_of(session, asked),
    )
    if faults:
        notice(without_weather(session.style, faults))
    elif years > first:
        in_background(years, db, session.garden.name)
        notice(fetched_behind(session.style, years - first))
    return open_session(db, session.garden.name, None)


def _asked(
    place: str | None, lat: float | None, lon: float | None, elevation: float | None, zone: str | None,
    trees: str | None, name: str, units: str, asked: Services | None,
) -> GardenFile:  # fmt: skip
    words = Style().say  # before there is a garden nobody has chosen units
    where = None
    if place is None and lat is None and lon is None:
        where = _answer(words(START["where"]))
        if not where:
            raise Refusal("no place is given; right would be --lat and --lon, or --place NAME")
    typed = {
        "name": name, "place": place, "latitude": lat, "longitude": lon, "elevation_m": elevation,
        "zone": zone, "units": units,
    }  # fmt: skip
    garden = garden_part(typed, where, asked)
    if trees is None:
        say(words(START["trees"]))
        trees = "\n".join(iter(lambda: _answer(words(START["trees_prompt"])) or "", ""))
    return GardenFile(garden=garden, tree=tuple(parts_from_text(trees)))


def _answer(question: str) -> str | None:
    """Return the line typed, None where the input ends."""
    try:
        return input(question).strip()
    except EOFError:
        say()
        return None


def demo(
    out: Annotated[Path, typer.Option(help="Folder for what it writes.")] = Path("leafclock-demo"),
    today: Today = None,
) -> None:
    """Plan an invented garden of fourteen trees on real weather, and write its calendar and chart."""
    from calendar_core.app.first_day.commands import demo as demo_garden

    demo_garden.run(out, day_or_none(today))


def places(
    as_data: Json = False,
) -> None:
    """List the bundled places whose climate normals come with the program."""
    if as_data:
        print_json(bundled_normals())
        return
    rows = [
        (p.place.replace("_", " "), coordinates(p.latitude, p.longitude), p.period, p.credit)
        for p in bundled_normals()
    ]
    columns(rows, indent=0)
