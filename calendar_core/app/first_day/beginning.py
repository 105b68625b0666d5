"""A garden founded from a form: at once, from what is known of its place without asking for its weather."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.app.first_day.designing import designed
from calendar_core.app.first_day.first_weather import services_in_memory
from calendar_core.app.garden.adding import parts_from_text
from calendar_core.app.garden.founding import keep
from calendar_core.app.garden.garden_file import GardenFile, GardenPart, TreePart
from calendar_core.app.garden.place import find_place, in_its_zone
from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import checked
from calendar_core.app.shell.plan_weather import near_normals
from calendar_core.app.shell.session import knowledge
from calendar_core.app.weather.services import source_set
from calendar_core.garden.limits import possible_height
from calendar_core.knowledge.profiles.names import find_each
from calendar_core.weather.sources.http import ServiceError

if TYPE_CHECKING:
    from datetime import date

    from calendar_core.app.weather.services import Services
    from calendar_core.garden.model import Garden
    from calendar_core.storage.engine import Store
    from calendar_core.weather.sources.protocol import PlaceFound

MOST_PLACES = 6  # of one name to choose from (estimate: the towns come by their size)
FIELDS = {"name": "Name", "place": "Town", "latitude": "Latitude", "longitude": "Longitude", "units": "Units"}
"""The fields of a form by the keys of `GardenPart`."""


class ManyPlacesError(Exception):
    """There are several places of a name."""

    def __init__(self, found: tuple[PlaceFound, ...]) -> None:
        super().__init__(len(found))
        self.found = found


@dataclass(frozen=True, slots=True)
class Beginning:
    """A form as it was filled in."""

    name: str = ""
    place: str = ""
    latitude: str = ""
    longitude: str = ""
    units: str = "metric"
    trees: str = ""


def drafted(typed: Beginning, day: date | None) -> GardenFile:
    """Return the garden that a form means, found by its place's name.

    Raises
    ------
    Refusal
        For what cannot be.
    ManyPlacesError
        Where somebody has to choose one of several places.
    """
    part = in_its_zone(_where(typed, online=is_online(day)))
    return GardenFile(garden=part, tree=tuple(_trees(typed.trees)))


def is_online(day: date | None) -> bool:
    """Tell whether a weather service is asked: one is set, and today is today."""
    return day is None and source_set() != "off"


def begin(store: Store, wanted: GardenFile, day: date | None, asked: Services | None = None) -> Garden:
    """Found a garden, on a day or today, and return it; services that are ``asked`` tell what its year is like.

    Raises
    ------
    Refusal
        For what cannot be; nothing is stored then.
    """
    if asked is None and not has_normals(wanted):
        raise Refusal(
            "no place whose climate is known is near, and no weather service is asked; right would be to let one be: "
            "LEAFCLOCK_WEATHER"
        )
    try:
        found = designed(wanted, day, asked)
    except Refusal:
        if asked is None:
            raise
        raise Refusal(  # all else was looked at before: it is the years that did not come
            "the past years of this place could not be had; right would be to try again in a while"
        ) from None
    return keep(store, found.made, found.days)


def has_normals(wanted: GardenFile) -> bool:
    """Tell whether a place whose climate is known is near enough to plan by, until the garden's own weather is in."""
    part = wanted.garden
    if part.latitude is None or part.longitude is None:
        return True
    try:
        near_normals(part.latitude, part.longitude)
    except Refusal:
        return False
    return True


def _trees(text: str) -> list[TreePart]:
    """Return the trees of pasted lines. Raises Refusal, also where a species is not known."""
    try:
        parts = parts_from_text(text)
    except Refusal as refusal:
        raise Refusal(*(f"Trees: {line.removeprefix('--trees: ')}" for line in refusal.lines)) from None
    _, faults = find_each((part.species for part in parts), knowledge().profiles)
    if faults:
        raise Refusal(*faults)
    return parts


def _where(typed: Beginning, *, online: bool) -> GardenPart:
    latitude, longitude = (text.strip().replace(",", ".") for text in (typed.latitude, typed.longitude))
    values: dict[str, object] = {"name": typed.name.strip() or "My garden", "units": typed.units}
    if latitude or longitude:
        if not (latitude and longitude):
            raise Refusal("latitude and longitude go together; right would be both, such as 47.5 and -122.3")
        values |= {"latitude": latitude, "longitude": longitude, "place": typed.place.strip() or None}
        return checked(GardenPart, values, _field)
    if not typed.place.strip():
        raise Refusal("no place is given; right would be a town, or latitude and longitude")
    part = checked(GardenPart, values | {"place": typed.place}, _field)
    with suppress(Refusal):
        find_place(typed.place)
        return part
    place = _looked_up(typed.place.strip(), online=online)
    return part.model_copy(
        update={
            "place": place.name,
            "latitude": place.latitude,
            "longitude": place.longitude,
            "elevation_m": possible_height(place.elevation_m),
            "zone": place.zone,
        }
    )


def _looked_up(name: str, *, online: bool) -> PlaceFound:
    """Return the one place of a name that a service knows. Raises Refusal."""
    right = "right would be latitude and longitude"
    if not online:
        raise Refusal(f"'{name}' is not among the places that are known without a service; {right}")
    try:
        found = services_in_memory(utc_now).places.places(name, count=MOST_PLACES)
    except ServiceError as error:
        raise Refusal(f"'{name}' cannot be looked up ({error}); {right}") from None
    if not found:
        raise Refusal(f"no place '{name}' was found; right would be a town nearby, or latitude and longitude")
    if len(found) > 1:
        raise ManyPlacesError(found)
    return found[0]


def _field(key: str) -> str:
    return FIELDS.get(key, key)
