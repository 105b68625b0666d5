"""The page of the phone: the pages on its home screen, warnings on it, and entries without a network."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Form
from pydantic import BaseModel, Field
from starlette.responses import JSONResponse, Response

from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.receipt import Receipt
from calendar_core.app.warnings.channel_changes import remove_channel, try_channel
from calendar_core.app.warnings.mailing import leads_to
from calendar_core.app.warnings.phones import add_phone, phone_of, phones, subscribing_key
from calendar_core.pages.shell.access import NoEntryError, Reader, Visit, Worker
from calendar_core.pages.shell.answering import page, told, with_secret
from calendar_core.pages.shell.site import HERE

router = APIRouter()
PAGE = "/phone"
LONGEST = 2000  # signs of an endpoint (estimate: those that are known have some 200)


class Subscribed(BaseModel):
    """What a page's script hands over once its browser has subscribed."""

    subscription: dict[str, Any] = Field(max_length=10)
    name: str = ""
    before: str = ""


@router.get(PAGE, include_in_schema=False)
def phone(visit: Reader) -> Response:
    """Show how the pages and warnings come onto a phone."""
    return _shown(visit)


def _shown(visit: Visit, *, status: int = 200, faults: tuple[str, ...] = ()) -> Response:
    known = phones(visit.session) if visit.may("worker") else ()
    return page(
        visit,
        "phone.html",
        status=status,
        title="Phone",
        is_secure=is_secure(visit),
        faults=faults,
        phones=[(channel.id, leads_to(channel), channel.why_off or channel.why_failing) for channel in known],
    )


def is_secure(visit: Visit) -> bool:
    """Tell whether browsers allow workers at the address that is asked: over HTTPS, or on the machine itself.

    Source: Secure Contexts (W3C), section 3.1.
    """
    url = visit.request.url
    return url.scheme == "https" or (url.hostname or "") in HERE


@router.get("/phone/token", include_in_schema=False)
def token(visit: Reader) -> Response:
    """Return the mark of forms, for what was written down without a network and is sent late."""
    return with_secret(visit, JSONResponse({"token": visit.token}))


@router.get("/phone/key", include_in_schema=False)
def key(visit: Worker) -> Response:
    """Return the key that a browser subscribes with."""
    return JSONResponse({"key": subscribing_key(visit.session)})


@router.post("/phone/push", include_in_schema=False)
def push(visit: Worker, subscribed: Subscribed) -> Response:
    """Let warnings reach the phone whose browser has subscribed."""
    url = visit.request.url
    name = subscribed.name or _name_before(visit, subscribed.before)
    site = f"{url.scheme}://{url.netloc}"
    try:
        receipt = add_phone(visit.fresh(), subscribed.subscription, site, name, subscribed.before)
    except Refusal as refusal:
        return JSONResponse({"lines": refusal.lines}, 422)
    return JSONResponse({"lines": receipt.lines})


def _name_before(visit: Visit, before: str) -> str:
    """Return what a phone was called whose browser subscribes anew by itself."""
    return next((channel.person for channel in phones(visit.session) if channel.address == before), "")


@router.post("/phone/test", include_in_schema=False)
def test(visit: Worker, phone_id: Annotated[UUID, Form(alias="phone")]) -> Response:
    """Send a test to a phone."""
    session = visit.fresh()
    return _done(visit, lambda: try_channel(session, phone_of(session, phone_id), utc_now))


@router.post("/phone/remove", include_in_schema=False)
def remove(
    visit: Worker,
    phone_id: Annotated[UUID | None, Form(alias="phone")] = None,
    endpoint: Annotated[str, Form(max_length=LONGEST)] = "",
) -> Response:
    """Send nothing more to a phone: to any for the owner, else to the one that asks, which alone knows its endpoint."""
    if not endpoint and not visit.may("owner"):
        raise NoEntryError("owner", visit.role)
    session = visit.fresh()
    return _done(visit, lambda: remove_channel(session, phone_of(session, endpoint or phone_id)))


def _done(visit: Visit, act: Callable[[], Receipt]) -> Response:
    """Do something with a phone, and show the page with what came of it."""
    try:
        receipt = act()
    except Refusal as refusal:
        return _shown(visit, status=422, faults=tuple(refusal.lines))
    return told(visit, receipt.lines, back=PAGE)
