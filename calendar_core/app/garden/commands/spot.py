"""Where trees stand: ``spot``."""

from __future__ import annotations

from typing import Annotated

import typer

from calendar_core.app.garden.spots import SpotWords, add_spot, change_spot, remove_spot
from calendar_core.app.shell.options import Db, GardenName, Json
from calendar_core.app.shell.output import print_json, say, tell
from calendar_core.app.shell.session import open_session
from calendar_core.knowledge.words import SURFACES, THERMAL_PROFILES, WINDS
from calendar_core.wording.garden.garden_text import spot_words

spot_app = typer.Typer(help="Where trees stand.", no_args_is_help=True, rich_markup_mode=None)

SunTime = Annotated[str | None, typer.Option(metavar="HH:MM|none")]
Cloth = Annotated[int | None, typer.Option(help="Shade cloth in percent.")]
Profile = Annotated[str | None, typer.Option(help=f"One of: {', '.join(THERMAL_PROFILES)}.")]
Wind = Annotated[str | None, typer.Option(help=f"One of: {', '.join(WINDS)}.")]
UnderTrees = Annotated[str | None, typer.Option("--surface", help=f"One of: {', '.join(SURFACES)}.")]
Skyline = Annotated[
    str | None,
    typer.Option(
        "--horizon",
        metavar="DEG:DEG,...",
        help="What stands around it: azimuth:height, rising, such as 90:10,180:35.",
    ),
]
Roof = Annotated[bool | None, typer.Option("--roof/--no-roof", help="Whether something keeps the rain off.")]
Quarantine = Annotated[
    bool | None, typer.Option("--quarantine/--no-quarantine", help="Whether sick trees stand there apart.")
]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.add_typer(spot_app, name="spot")


@spot_app.command("add")
def spot_add(
    name: str,
    sun_from: SunTime = None,
    sun_to: SunTime = None,
    cloth: Cloth = None,
    profile: Profile = None,
    wind: Wind = None,
    surface: UnderTrees = None,
    horizon: Skyline = None,
    roof: Roof = None,
    quarantine: Quarantine = None,
    db: Db = None,
    garden: GardenName = None,
) -> None:
    """Add a spot."""
    session = open_session(db, garden, None)
    words = SpotWords(sun_from, sun_to, horizon, cloth, profile, wind, surface, roof, quarantine)
    tell(add_spot(session, name, words))


@spot_app.command("change")
def spot_change(
    name: str,
    called: Annotated[str | None, typer.Option("--name", help="Its new name.")] = None,
    sun_from: SunTime = None,
    sun_to: SunTime = None,
    cloth: Cloth = None,
    profile: Profile = None,
    wind: Wind = None,
    surface: UnderTrees = None,
    horizon: Skyline = None,
    roof: Roof = None,
    quarantine: Quarantine = None,
    db: Db = None,
    garden: GardenName = None,
) -> None:
    """Change a spot."""
    session = open_session(db, garden, None)
    words = SpotWords(sun_from, sun_to, horizon, cloth, profile, wind, surface, roof, quarantine)
    tell(change_spot(session, name, words, called))


@spot_app.command("remove")
def spot_remove(name: str, db: Db = None, garden: GardenName = None) -> None:
    """Remove a spot at which no tree ever stood."""
    tell(remove_spot(open_session(db, garden, None), name))


@spot_app.command("list")
def spot_list(db: Db = None, garden: GardenName = None, as_data: Json = False) -> None:
    """List the spots."""
    session = open_session(db, garden, None)
    if as_data:
        print_json(list(session.spots.values()))
        return
    for spot in session.spots.values():
        say(spot_words(session.style, spot))
