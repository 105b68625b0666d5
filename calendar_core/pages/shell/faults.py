"""Each fault as a page: what cannot be done, and what would be right."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, RedirectResponse

from calendar_core.app.shell.errors import DoubtRefusal, Refusal
from calendar_core.app.shell.faults import told as told_fault
from calendar_core.knowledge.profiles.errors import KnowledgeError
from calendar_core.pages.shell.access import ForgedError, NoEntryError, NoGardenError
from calendar_core.pages.shell.answering import again, doubt, fault, templates
from calendar_core.pages.shell.keeping import BeingWorkedOutError
from calendar_core.pages.shell.no_secrets import without_secret
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Callable

    from fastapi import Request
    from starlette.responses import Response

TEXTS = {
    "no page": "There is no page at this address; right would be one of the contents.",
    "unread": "Nothing was written down; right would be to open the page again and send it from there.",
    "kept": "Nothing that was stored is lost.",
    "forged": "This form was shown too long ago, or by somebody else; right would be to open the page again and send it from there.",
}

FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")
"""How browsers send forms (HTML, form submission)."""


async def _doubted(request: Request, error: DoubtRefusal) -> Response:
    return await doubt(request, error.doubts)


def _refused(request: Request, error: Refusal) -> Response:
    return fault(request, error.lines, 422)


async def _not_stored(request: Request, error: StoreError) -> Response:
    lines, title = [str(error), TEXTS["kept"]], "The database cannot be used"
    if request.headers.get("content-type", "").startswith(FORMS):
        return await again(request, lines, 503, title)
    return fault(request, lines, 503, title)


def _not_known(request: Request, error: KnowledgeError) -> Response:
    return fault(request, error.faults, 500, "The program's own data have a fault")


def _no_garden(_request: Request, _error: NoGardenError) -> Response:
    return RedirectResponse("/begin", 303)


def _not_ready(request: Request, _error: BeingWorkedOutError) -> Response:
    again = request.method == "GET"
    text = templates().get_template("waiting.html").render(title="One moment", again=again)
    return HTMLResponse(text, 503, {"Retry-After": "3"})


def _forged(request: Request, _error: ForgedError) -> Response:
    return fault(request, [TEXTS["forged"]], 403, "Nothing was written down")


def _no_entry(request: Request, error: NoEntryError) -> Response:
    if error.role is None and request.method == "GET" and request.headers.get("hx-request") != "true":
        return RedirectResponse("/enter", 303)
    told = f"That needs a key of the {error.needed}; yours is one of: {error.role or 'nobody'}."
    return fault(request, [told], 401 if error.role is None else 403, "Not with this key")


def _not_read(request: Request, error: RequestValidationError) -> Response:
    faults = error.errors()[:5]
    lines = [f"{' '.join(str(part) for part in each['loc'][1:])}: {each['msg'].lower()}" for each in faults]
    if request.method == "POST":
        lines.append(TEXTS["unread"])
    return fault(request, lines, 422, "The form cannot be read")


def _http(request: Request, error: HTTPException) -> Response:
    if error.status_code == 404:
        return fault(request, [TEXTS["no page"]], 404, "No such page")
    return fault(request, [str(error.detail)], error.status_code)


def _unforeseen(request: Request, error: Exception) -> Response:
    told = told_fault(error, ["serve", without_secret(request.url.path)])
    return fault(request, [told], 500, "A fault of this program")


FAULTS: dict[type[Exception], Callable[[Any, Any], Any]] = {
    DoubtRefusal: _doubted,
    Refusal: _refused,
    StoreError: _not_stored,
    KnowledgeError: _not_known,
    NoGardenError: _no_garden,
    BeingWorkedOutError: _not_ready,
    ForgedError: _forged,
    NoEntryError: _no_entry,
    RequestValidationError: _not_read,
    HTTPException: _http,
    Exception: _unforeseen,
}
"""How each fault is answered."""
