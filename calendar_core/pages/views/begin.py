"""The first page of a new database: a garden is founded on the phone."""

from __future__ import annotations

from dataclasses import asdict
from threading import Lock
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Form
from starlette.responses import RedirectResponse, Response

from calendar_core.app.first_day.beginning import (
    Beginning,
    ManyPlacesError,
    begin,
    drafted,
    has_normals,
    is_online,
)
from calendar_core.app.shell.errors import Refusal
from calendar_core.pages.shell.access import Owner
from calendar_core.pages.shell.answering import page, told
from calendar_core.wording.pages.settings_text import BEGIN, place_words
from calendar_core.wording.style import Style

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.garden.model import Garden
    from calendar_core.pages.shell.access import Visit
    from calendar_core.weather.sources.protocol import PlaceFound

router = APIRouter()
_FOUNDING = Lock()  # two who send at once found one garden
_LAST: dict[str, Beginning] = {}  # what was entered for the garden that waits for its years


@router.get("/begin", include_in_schema=False)
def asked(visit: Owner) -> Response:
    """Ask for what a garden needs, where there is none yet; while one waits for its first years, tell so."""
    if visit.site.fetching.founds:
        return page(visit, "founding.html", title="A new garden")
    garden = visit.site.garden()
    if garden is not None:
        waited = _LAST.pop(visit.secret, None) is not None
        return told(visit, _lines(garden, "coming")) if waited else RedirectResponse("/", 303)
    return _form(visit, _LAST.get(visit.secret, Beginning()), visit.site.fetching.faults)


@router.post("/begin", include_in_schema=False)
def found(
    visit: Owner,
    name: Annotated[str, Form()] = "",
    place: Annotated[str, Form()] = "",
    latitude: Annotated[str, Form()] = "",
    longitude: Annotated[str, Form()] = "",
    units: Annotated[str, Form()] = "metric",
    trees: Annotated[str, Form()] = "",
    at: Annotated[str, Form()] = "",
) -> Response:
    """Found a garden at once; its weather is fetched behind it."""
    if at and not (latitude.strip() or longitude.strip()):  # one of several places of a name
        latitude, _, longitude = at.partition(" ")
    typed = Beginning(name, place, latitude, longitude, units, trees)
    try:
        with _FOUNDING:
            if visit.site.garden() is not None or visit.site.fetching.founds:
                return RedirectResponse("/begin", 303)
            return _founded(visit, typed)
    except ManyPlacesError as many:
        return _form(visit, typed, places=many.found)
    except Refusal as refusal:
        return _form(visit, typed, refusal.lines)


def _founded(visit: Visit, typed: Beginning) -> Response:
    """Found a garden at once, or where no known climate is near, as soon as its own years are in."""
    site, wanted = visit.site, drafted(typed, visit.site.day)
    online = is_online(site.day)
    if online and not has_normals(wanted):
        _LAST.clear()
        _LAST[visit.secret] = typed
        site.fetching.found(site.store, wanted)
        return RedirectResponse("/begin", 303)
    garden = begin(site.store, wanted, site.day)
    if online:
        site.fetching.fetch(site.store, garden.name)
    return told(visit, _lines(garden, "coming" if online else "no_service"))


def _lines(garden: Garden, weather: str) -> list[str]:
    """Return that a garden is founded, and what comes of its weather."""
    say = Style(garden.units).say
    return [say(BEGIN["founded"], name=garden.name, place=garden.place), say(BEGIN[weather])]


def _form(
    visit: Visit, typed: Beginning, lines: Sequence[str] = (), places: Sequence[PlaceFound] = ()
) -> Response:
    return page(
        visit,
        "begin.html",
        status=422 if lines else 200,
        title="A new garden",
        lines=lines,
        typed=asdict(typed),
        online=is_online(visit.site.day),
        places=[(f"{each.latitude} {each.longitude}", place_words(Style(), each)) for each in places],
    )
