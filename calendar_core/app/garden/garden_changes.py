"""What can be changed of a garden itself: its name, its units, the height of its place."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from calendar_core.app.garden.garden_file import GardenPart
from calendar_core.app.shell.forms import checked
from calendar_core.app.shell.receipt import Receipt
from calendar_core.storage import gardens
from calendar_core.wording.garden.garden_text import GARDEN

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session

FIELDS = {"name": "Name", "units": "Units", "elevation_m": "Height"}
"""The fields of a form by the keys of `GardenPart`."""


def change_garden(session: Session, name: str, units: str, elevation_m: str) -> Receipt:
    """Change a garden as typed; a height left empty stays as it is. Raises Refusal, StoreError for a name that is taken."""
    height = elevation_m.strip().replace(",", ".")
    typed = {"name": name, "units": units, "place": session.garden.place, "elevation_m": height or None}
    part = checked(GardenPart, typed, lambda key: FIELDS.get(key, key))
    with session.store.begin() as connection:
        garden = replace(
            gardens.get_garden(connection, session.garden.name), name=part.name, units=part.units
        )
        if part.elevation_m is not None:
            garden = replace(garden, elevation_m=part.elevation_m, elevation_known=True)
        gardens.update_garden(connection, garden)
    return Receipt((session.style.say(GARDEN["changed"], name=garden.name),))
