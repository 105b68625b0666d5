"""How an answer is made: a page, what was told of what was written, and faults as pages."""

from __future__ import annotations

import re
import secrets
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.responses import HTMLResponse, RedirectResponse

from calendar_core.app.keys.keys import STAYS
from calendar_core.pages.shell.access import COOKIE, TOKEN
from calendar_core.pages.shell.site import Told

if TYPE_CHECKING:
    from collections.abc import Sequence
    from uuid import UUID

    from fastapi import Request
    from starlette.responses import Response

    from calendar_core.pages.shell.access import Visit

CONTENTS = (
    ("today", "Today", "/"),
    ("hours", "Hours", "/hours"),
    ("season", "Season", "/season"),
    ("bench", "Bench", "/bench"),
    ("write", "Write down", "/write"),
    ("round", "Round", "/round"),
    ("plan", "Plan", "/plan"),
    ("settings", "Settings", "/settings"),
)
"""The pages, by their key, name and address, in the order of the contents line."""
MOST_SHOWN = 40  # trees of a line that can be ticked one by one (estimate: two screens of a phone)
SECRET = ("key", "password", "again")  # fields that no page shows again
NOBODY, NEW_ID = secrets.token_hex(), f"@{secrets.token_hex()}@"  # what stands in a page that is kept for all


@cache
def templates() -> Environment:
    """Return the pages' templates."""
    made = Environment(
        loader=PackageLoader("calendar_core.pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["contents"] = CONTENTS
    made.globals["token_field"] = TOKEN
    made.globals["most_shown"] = MOST_SHOWN
    made.globals["new_id"] = uuid4
    return made


def page(
    visit: Visit, template: str, /, *, status: int = 200, keep: object = None, **values: Any
) -> Response:
    """Return a page, or the part of one, for who asks; each template says what values it needs.

    What is made of nothing but ``keep`` and the role is written once for all who ask while that object lasts; the marks of
    its forms are put in for each of them.
    """
    known: dict[str, Any] = {
        "visit": visit,
        "current": "",
        "told": Told() if visit.has_htmx else visit.site.told(visit.secret),
        "here": f"{visit.request.url.path}?{visit.request.url.query}".rstrip("?"),
    }
    if keep is None or known["told"].lines:
        text = templates().get_template(template).render(known | values)
    else:
        text = _marked(
            visit,
            visit.site.text_of((template, visit.role), keep, lambda: _unmarked(template, known | values)),
        )
    return with_secret(visit, HTMLResponse(text, status))


def _unmarked(template: str, values: dict[str, Any]) -> str:
    """Return a page with signs in the place of what is another one for everybody."""
    visit = replace(values["visit"], secret=NOBODY)
    return templates().get_template(template).render(values | {"visit": visit, "new_id": lambda: NEW_ID})


def _marked(visit: Visit, text: str) -> str:
    """Return a page with the marks of one who asks."""
    parts = text.replace(replace(visit, secret=NOBODY).token, visit.token).split(NEW_ID)
    return "".join([parts[0], *(f"{uuid4()}{part}" for part in parts[1:])])


def with_secret(visit: Visit, answer: Response) -> Response:
    """Give who has none the secret that their forms are marked with; it says nothing of who they are."""
    if COOKIE not in visit.request.cookies:
        give_secret(visit.request, answer, visit.secret)
    return answer


def give_secret(request: Request, answer: Response, secret: str) -> None:
    """Give a browser a secret to come back with: no script may read it, no other site send it along."""
    https = request.url.scheme == "https"
    stays_s = int(STAYS.total_seconds())
    answer.set_cookie(COOKIE, secret, stays_s, httponly=True, samesite="lax", secure=https, path="/")


def told(visit: Visit, lines: Sequence[str], entries: Sequence[UUID] = (), back: str = "/") -> Response:
    """Return what was written: as a part of the page where that is asked for, else over the page one comes from."""
    found = Told(tuple(lines), tuple(entries))
    if visit.has_htmx:
        return page(visit, "_told.html", told=found, back=back)
    visit.site.tell_next(visit.secret, found)
    return RedirectResponse(inside(back), 303)


def inside(path: str) -> str:
    """Return a path of these pages as it was sent, and the first page for whatever leads elsewhere.

    >>> inside("/round?walk=2"), inside("//elsewhere.example")
    ('/round?walk=2', '/')
    """
    leads_here = re.fullmatch(r"/(?![/\\])[!-~]*", path) is not None
    return path if leads_here else "/"


def fault(
    request: Request, lines: Sequence[str], status: int, title: str = "That cannot be done"
) -> Response:
    """Return a page that says what cannot be done, and what would be right."""
    template = "_fault.html" if request.headers.get("hx-request") == "true" else "fault.html"
    return HTMLResponse(templates().get_template(template).render(title=title, lines=list(lines)), status)


async def doubt(request: Request, lines: Sequence[str]) -> Response:
    """Return the question whether what looks odd is so; saying yes sends the same form again."""
    form = [(name, text) for name, text in await _sent(request) if name != "yes"]
    part = request.headers.get("hx-request") == "true"
    made = templates().get_template("_doubt.html" if part else "doubt.html")
    return HTMLResponse(
        made.render(title="Is that so?", lines=list(lines), form=form, action=request.url.path), 422
    )


async def again(request: Request, lines: Sequence[str], status: int, title: str) -> Response:
    """Return a page that says why a form could not be taken now, and sends the same form again; no password is shown."""
    form = await _sent(request)
    if any(name in SECRET for name, _ in form):
        return fault(request, lines, status, title)
    part = request.headers.get("hx-request") == "true"
    made = templates().get_template("_again.html" if part else "again.html")
    return HTMLResponse(made.render(title=title, lines=lines, form=form, action=request.url.path), status)


async def _sent(request: Request) -> list[tuple[str, str]]:
    """Return the texts of a form, as they were sent."""
    return [(name, text) for name, text in (await request.form()).multi_items() if isinstance(text, str)]
