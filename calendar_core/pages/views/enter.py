"""Entering with a key, and leaving."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from calendar_core.app.keys.keys import enter, key_shown, leave, password_known
from calendar_core.app.shell.clock import utc_now
from calendar_core.garden.model import Garden
from calendar_core.pages.shell.access import COOKIE, site_of
from calendar_core.pages.shell.answering import give_secret, templates
from calendar_core.pages.shell.site import Site
from calendar_core.storage.keys import AccessKey

router = APIRouter()


@router.get("/enter", include_in_schema=False)
def ask_for_key() -> Response:
    """Ask for a key."""
    return _asked(())


@router.post("/enter", include_in_schema=False)
def show_key(request: Request, key: Annotated[str, Form()] = "") -> Response:
    """Let in whoever shows a key; the secret of a visit is always a new one, so that none can be foisted on somebody."""
    site = site_of(request)
    garden = site.garden()
    found = None if garden is None else key_shown(site.store, garden.id, key)
    if found is None:
        found, wait_s = _by_password(request, site, garden, key)
        if wait_s:
            told = f"Too many wrong keys; right would be to try again in {max(wait_s // 60, 1)} min."
            answer = _asked((told,), 429)
            answer.headers["Retry-After"] = str(wait_s)
            return answer
    if found is None:
        return _asked(("This opens nothing; right would be a key as it was shown, or the password.",), 403)
    entered = RedirectResponse("/", 303)
    give_secret(request, entered, enter(site.store, found, utc_now()))
    return entered


def _by_password(
    request: Request, site: Site, garden: Garden | None, password: str
) -> tuple[AccessKey | None, int]:
    """Return what a password opens, and how long has to be waited before another one is looked at [s]."""
    address, now = request.client.host if request.client else "", utc_now()
    if not site.tries.turn.acquire(
        blocking=False
    ):  # one at a time: a waiting one would take a thread of the pages
        return None, 1
    try:
        if wait_s := site.tries.wait_s(address, now):
            return None, wait_s
        found = None if garden is None else password_known(site.store, garden.id, password)
        if found is None:
            site.tries.note(address, now)
        return found, 0
    finally:
        site.tries.turn.release()


@router.post("/leave", include_in_schema=False)
def go(request: Request) -> Response:
    """Let somebody go."""
    leave(site_of(request).store, request.cookies.get(COOKIE, ""))
    answer = RedirectResponse("/enter", 303)
    answer.delete_cookie(COOKIE, path="/")
    return answer


def _asked(lines: tuple[str, ...], status: int = 200) -> Response:
    return HTMLResponse(templates().get_template("enter.html").render(title="Leafclock", lines=lines), status)
