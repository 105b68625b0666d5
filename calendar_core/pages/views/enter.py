"""Entering with a key, and leaving."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from calendar_core.app.keys.keys import LONGEST_PASSWORD, enter, key_shown, leave
from calendar_core.app.shell.clock import utc_now
from calendar_core.pages.shell.access import COOKIE, site_of
from calendar_core.pages.shell.answering import give_secret, templates

router = APIRouter()


@router.get("/enter", include_in_schema=False)
def ask_for_key() -> Response:
    """Ask for a key."""
    return _asked(())


@router.post("/enter", include_in_schema=False)
def show_key(request: Request, key: Annotated[str, Form()] = "") -> Response:
    """Let in whoever shows a key; the secret of a visit is always a new one, so that none can be foisted on somebody."""
    site, now = site_of(request), utc_now()
    address = request.client.host if request.client else ""
    if wait_s := site.tries.wait_s(address, now):
        answer = _asked(
            (f"Too many wrong keys; right would be to try again in {max(wait_s // 60, 1)} min.",), 429
        )
        answer.headers["Retry-After"] = str(wait_s)
        return answer
    garden = site.garden()
    found = (
        key_shown(site.store, garden.id, key) if garden is not None and len(key) <= LONGEST_PASSWORD else None
    )
    if found is None:
        site.tries.note(address, now)
        return _asked(("This opens nothing; right would be a key as it was shown, or the password.",), 403)
    answer = RedirectResponse("/", 303)
    give_secret(request, answer, enter(site.store, found, now))
    return answer


@router.post("/leave", include_in_schema=False)
def go(request: Request) -> Response:
    """Let somebody go."""
    leave(site_of(request).store, request.cookies.get(COOKIE, ""))
    answer = RedirectResponse("/enter", 303)
    answer.delete_cookie(COOKIE, path="/")
    return answer


def _asked(lines: tuple[str, ...], status: int = 200) -> Response:
    return HTMLResponse(templates().get_template("enter.html").render(title="Leafclock", lines=lines), status)
