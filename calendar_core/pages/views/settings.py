"""Settings of the garden: its place and units, its spots, its weather, days away, and what its grower holds."""

from __future__ import annotations

from typing import Annotated, Literal
from uuid import UUID

from fastapi import APIRouter, Form
from starlette.responses import RedirectResponse, Response

from calendar_core.app.garden.garden_changes import change_garden
from calendar_core.app.garden.spots import NO_TIME, SpotWords, add_spot, change_spot, remove_spot
from calendar_core.app.knowledge.answers import answer_question
from calendar_core.app.shell.days import day_of
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.receipt import Receipt
from calendar_core.app.work.time_entries import write_away
from calendar_core.pages.shell.access import Owner, Reader
from calendar_core.pages.views.settings_page import show, tried

router = APIRouter()


@router.get("/settings", include_in_schema=False)
def settings(visit: Reader) -> Response:
    """Show what is set."""
    return show(visit)


@router.post("/settings/garden", include_in_schema=False)
def garden(
    visit: Owner,
    name: Annotated[str, Form()] = "",
    units: Annotated[str, Form()] = "",
    elevation: Annotated[str, Form()] = "",
) -> Response:
    """Change the garden's name, its units, its height."""
    typed = {"name": name, "units": units, "elevation": elevation}
    return tried(
        visit, "garden", typed, "place", lambda: change_garden(visit.fresh(), name, units, elevation)
    )


@router.post("/settings/spot", include_in_schema=False)
def spot(
    visit: Owner,
    act: Annotated[Literal["add", "change", "remove"], Form()],
    spot: Annotated[str, Form()] = "",
    name: Annotated[str, Form()] = "",
    sun_from: Annotated[str, Form()] = "",
    sun_to: Annotated[str, Form()] = "",
    cloth: Annotated[str, Form()] = "",
    profile: Annotated[str, Form()] = "open",
    wind: Annotated[str, Form()] = "normal",
    surface: Annotated[str, Form()] = "bench",
    roof: Annotated[str, Form()] = "",
    quarantine: Annotated[str, Form()] = "",
) -> Response:
    """Add, change or remove a spot."""
    words = SpotWords(
        sun_from.strip() or NO_TIME, sun_to.strip() or NO_TIME, None, cloth.strip() or "0", profile, wind, surface,
        bool(roof), bool(quarantine),
    )  # fmt: skip
    typed = {
        "name": name, "sun_from": sun_from, "sun_to": sun_to, "cloth": cloth, "profile": profile, "wind": wind,
        "surface": surface, "roof": roof, "quarantine": quarantine,
    }  # fmt: skip

    def write() -> Receipt:
        session = visit.fresh()
        if act == "add":
            return add_spot(session, name, words)
        if act == "remove":
            return remove_spot(session, spot)
        return change_spot(session, spot, words, name)

    return tried(visit, "new spot" if act == "add" else f"spot {spot}", typed, "spots", write)


@router.post("/settings/weather", include_in_schema=False)
def weather(visit: Owner) -> Response:
    """Fetch what is missing, behind the page."""
    visit.site.fetching.fetch(visit.site.store, visit.garden.name)
    return RedirectResponse("/settings#weather", 303)


@router.post("/settings/away", include_in_schema=False)
def away(
    visit: Owner,
    begins: Annotated[str, Form()] = "",
    ends: Annotated[str, Form()] = "",
    entry_id: Annotated[UUID | None, Form()] = None,
) -> Response:
    """Write down days away."""

    def write() -> Receipt:
        try:
            first, last = day_of(begins), day_of(ends)
        except ValueError as error:
            raise Refusal(str(error)) from None
        return write_away(visit.fresh(), first, last, entry_id)

    return tried(visit, "away", {"begins": begins, "ends": ends}, "helper", write)


@router.post("/settings/question", include_in_schema=False)
def question(
    visit: Owner,
    question: Annotated[str, Form()] = "",
    option: Annotated[str | None, Form()] = None,
    entry_id: Annotated[UUID | None, Form()] = None,
) -> Response:
    """Write down what the grower holds."""
    typed = {"option": option or ""}
    return tried(
        visit,
        f"question {question}",
        typed,
        "questions",
        lambda: answer_question(visit.fresh(), question, option, entry_id),
    )
