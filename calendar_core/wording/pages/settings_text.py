"""Words of the pages on which a garden is founded and set up."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.wording.plan.calendar_text import KIND_NAMES

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import time
    from typing import Protocol

    from calendar_core.garden.model import Garden
    from calendar_core.planning.events import CalendarKind
    from calendar_core.wording.style import Style

    class Found(Protocol):
        """A place that was looked up."""

        @property
        def name(self) -> str: ...  # noqa: D102 - as it says
        @property
        def region(self) -> str: ...  # noqa: D102
        @property
        def country(self) -> str: ...  # noqa: D102
        @property
        def latitude(self) -> float: ...  # noqa: D102
        @property
        def longitude(self) -> float: ...  # noqa: D102


BEGIN: dict[str, str] = {
    "founded": "Founded: {name}, {place}.",
    "coming": "The forecast and past years of its weather are being fetched; dates become surer as they come, within minutes.",
    "no_service": "No weather service is asked; dates rest on the nearest place whose climate is known.",
    "place": "{where} ({latitude}, {longitude})",
}


def place_words(style: Style, found: Found) -> str:
    """Return a place that was looked up, so that it can be told from others of its name."""
    where = ", ".join(part for part in (found.name, found.region, found.country) if part)
    return style.say(
        BEGIN["place"], where=where, latitude=f"{found.latitude:.2f}", longitude=f"{found.longitude:.2f}"
    )


SETTINGS: dict[str, str] = {
    "where": "{place}: {latitude}, {longitude}; {height}, time of {zone}.",
    "height": "{height} above the sea",
    "no_height": "height not known",
    "place_well": "{place}: written",
    "place_failing": "{place}: not written ({why})",
}

WAYS: dict[str, str] = {
    "fetch": (
        "Subscribed calendars are fetched either by the phone itself or by its maker's servers. Google Calendar and "
        "Outlook.com fetch from their own servers, so they reach no machine at home, and no private network. Apple's "
        "calendar and programs such as DAVx5 or Thunderbird fetch by themselves."
    ),
    "network": (
        "A private network (WireGuard, Tailscale) fits phones that fetch by themselves: nothing is open to the world."
    ),
    "folder": (
        "A web folder fits the services that fetch from elsewhere: leafclock calendar --to FOLDER or URL writes the "
        "calendars there whenever they change, and the phone subscribes to the folder's own address."
    ),
    "proxy": (
        "A reverse proxy with a name of its own fits all of them, if the machine is to be reached from the world: "
        "leafclock about serving."
    ),
}
"""Which way of subscribing fits whom."""

ACCESS: dict[str, str] = {
    "key": "A key of the {role} for {label}",
    "key_how": "Enter it on the page that asks for a key. It is shown this once; nobody can look it up later.",
    "you_too": "This browser has entered with it.",
    "revoked": "Taken back: {label}. Whoever entered with it has to go.",
    "password": "Set: the owner's password. Whoever entered with an earlier one has to enter anew.",
    "address": "The address of {calendar}",
    "address_how": "Subscribe to it in the phone's calendar, by the link, or by the code with its camera. It is shown this once; "
    "whoever knows it can read this calendar and nothing else.",
    "address_here": "This one leads to this machine alone. Made while this page is open under the name that phones use, it leads there.",
    "address_gone": "Revoked: {name}. It is not answered any more.",
    "hook": "The secret that signs this web hook's messages",
    "hook_how": "Whoever receives them checks them with it. It is shown this once.",
    "pg_dump": "pg_dump --format=custom",
}


def garden_words(style: Style, garden: Garden) -> str:
    """Return where a garden is."""
    height = style.say(SETTINGS["no_height"])
    if garden.elevation_known:
        height = style.say(SETTINGS["height"], height=style.run(garden.elevation_m))
    latitude, longitude = (
        f"{abs(value):.2f}° {sides[value < 0]}"
        for value, sides in ((garden.latitude, "NS"), (garden.longitude, "EW"))
    )
    return style.say(
        SETTINGS["where"],
        place=garden.place,
        latitude=latitude,
        longitude=longitude,
        height=height,
        zone=garden.zone,
    )


def place_line(style: Style, place: str, why_failing: str) -> str:
    """Return a place that calendars are written to, and how that goes."""
    if why_failing:
        return style.say(SETTINGS["place_failing"], place=place, why=why_failing)
    return style.say(SETTINGS["place_well"], place=place)


def quiet_words(begins: time | None, ends: time | None) -> str:
    """Return quiet hours as they are typed, "" for none."""
    return f"{begins:%H:%M}-{ends:%H:%M}" if begins and ends else ""


def calendar_names(style: Style, kinds: Iterable[CalendarKind]) -> list[tuple[str, str]]:
    """Return the kinds of calendars with what they tell."""
    return [(kind, style.translate(KIND_NAMES[kind])) for kind in kinds]
