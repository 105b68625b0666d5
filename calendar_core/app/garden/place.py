"""The place of a garden: its coordinates as typed, found by name, and its time zone."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.plan_weather import bundled_normals
from calendar_core.weather.normals import Normals

if TYPE_CHECKING:
    from calendar_core.app.garden.garden_file import GardenPart


def coordinates(latitude: float, longitude: float) -> str:
    """Return coordinates as text: 47.5 N 122.3 W."""
    return f"{abs(latitude):g} {'N' if latitude >= 0 else 'S'} {abs(longitude):g} {'E' if longitude >= 0 else 'W'}"


def find_place(name: str) -> Normals:
    """Return the bundled place of a name, or refuse it with the nearest names."""
    places = {place.place.replace("_", " ").lower(): place for place in bundled_normals()}
    wanted = name.replace("_", " ").lower().strip()
    exact = [place for known, place in places.items() if known == wanted or known.split(" ")[0] == wanted]
    if exact:
        return exact[0]
    close = get_close_matches(wanted, places, n=3, cutoff=0.5)
    near = f"near names: {', '.join(places[c].place.replace('_', ' ') for c in close)}; " if close else ""
    raise Refusal(
        f"no bundled place '{name}'; {near}right would be one of those listed by: leafclock places, or --lat and --lon"
    )


def in_its_zone(part: GardenPart) -> GardenPart:
    """Return the part with its time zone settled: without one nobody knows which day it is there."""
    normals = find_place(part.place) if part.place and part.latitude is None else None
    zone = zone_at(part.zone, normals, part.latitude or 0.0, part.longitude or 0.0)
    return part.model_copy(update={"zone": zone})


def zone_at(zone: str | None, normals: Normals | None, latitude: float, longitude: float) -> str:
    """Return the time zone: the one given, the bundled place's, or the one of the coordinates."""
    if zone is None and normals is not None:
        return normals.zone
    if zone is None:
        from timezonefinder import TimezoneFinder

        zone = TimezoneFinder().timezone_at(lat=latitude, lng=longitude) or "UTC"
    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):  # OSError: the name of a group of zones
        raise Refusal(
            f"zone '{zone}' is not known; right would be an IANA name, such as Europe/Berlin"
        ) from None
    return zone
