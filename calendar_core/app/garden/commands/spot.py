"""Where trees stand: ``spot``."""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from typing import Annotated, Any
from uuid import uuid4

import typer

from calendar_core.app.garden.garden_file import SpotPart
from calendar_core.app.garden.horizons import horizon_of
from calendar_core.app.shell.days import time_of
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import as_option, checked
from calendar_core.app.shell.options import Db, GardenName, Json
from calendar_core.app.shell.output import print_json, say
from calendar_core.app.shell.session import open_session
from calendar_core.garden.model import Spot
from calendar_core.knowledge.words import SURFACES, THERMAL_PROFILES, WINDS
from calendar_core.storage import gardens, log
from calendar_core.wording.garden.garden_text import SPOTS, spot_words

NO_TIME = "none"  # takes a time of sun away

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
    typed = _typed(
        sun_from, sun_to, horizon,
        cloth_percent=cloth, profile=profile, wind=wind, surface=surface, roof=roof, quarantine=quarantine,
    )  # fmt: skip
    part = checked(SpotPart, {"name": name, **typed}, _of_spot)
    spot = Spot(uuid4(), session.garden.id, **dict(part))
    with session.store.begin() as connection:
        gardens.add_spot(connection, spot)
    say(session.style.say(SPOTS["added"], spot=spot_words(session.style, spot)))


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
    changes = _typed(
        sun_from, sun_to, horizon, name=called,
        cloth_percent=cloth, profile=profile, wind=wind, surface=surface, roof=roof, quarantine=quarantine,
    )  # fmt: skip
    if not changes:
        options = "--name, --sun-from, --sun-to, --cloth, --profile, --wind, --surface, --horizon, --roof, --quarantine"
        raise Refusal(f"nothing to change; right would be one of {options}")
    with session.store.begin() as connection:
        spot = replace(gardens.find_spot(connection, session.garden.id, name), **changes)
        checked(SpotPart, {key: getattr(spot, key) for key in SpotPart.model_fields}, _of_spot)
        gardens.update_spot(connection, spot)
    say(session.style.say(SPOTS["changed"], spot=spot_words(session.style, spot)))


@spot_app.command("remove")
def spot_remove(name: str, db: Db = None, garden: GardenName = None) -> None:
    """Remove a spot at which no tree ever stood."""
    session = open_session(db, garden, None)
    with session.store.begin() as connection:
        spot = gardens.find_spot(connection, session.garden.id, name)
        entries = log.entries(connection, session.garden.id)
        if any(str(entry.data.get("spot")) == str(spot.id) for entry in entries):
            raise Refusal(
                f"trees stand or stood at '{spot.name}', and the log tells so; right would be to rename it: "
                f"leafclock spot change '{spot.name}' --name NAME"
            )
        gardens.remove_spot(connection, spot.id)
    say(session.style.say(SPOTS["removed"], spot=spot.name))


@spot_app.command("list")
def spot_list(db: Db = None, garden: GardenName = None, as_data: Json = False) -> None:
    """List the spots."""
    session = open_session(db, garden, None)
    if as_data:
        print_json(list(session.spots.values()))
        return
    for spot in session.spots.values():
        say(spot_words(session.style, spot))


def _typed(
    sun_from: str | None, sun_to: str | None, horizon: str | None, **plain: str | int | None
) -> dict[str, Any]:
    """Return what was typed, as values of a spot; times may be taken away."""
    values: dict[str, Any] = {name: value for name, value in plain.items() if value is not None}
    if horizon is not None:
        values["horizon"] = horizon_of(horizon)
    times = {"sun_from": sun_from, "sun_to": sun_to}
    return values | {name: _time(text) for name, text in times.items() if text is not None}


def _of_spot(key: str) -> str:
    return "spot" if key == "name" else as_option(key)


def _time(text: str) -> time | None:
    if text.strip().lower() == NO_TIME:
        return None
    try:
        return time_of(text)
    except ValueError as error:
        raise Refusal(str(error)) from None
