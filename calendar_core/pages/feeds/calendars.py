"""Calendars at secret addresses, as calendar programs subscribe to them: RFC 9110, conditional requests and codings."""

from __future__ import annotations

import logging
import re
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from functools import lru_cache
from typing import TYPE_CHECKING

from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from calendar_core.app.calendar.addresses import hash_of
from calendar_core.pages.shell.ready_calendars import calendars_of

if TYPE_CHECKING:
    from starlette.datastructures import Headers
    from starlette.requests import Request

    from calendar_core.pages.shell.ready_calendars import RawHeaders, ReadyCalendar

WAIT_S = 300  # until a reader that was told of a fault should ask again (estimate)
ROBOTS = "User-agent: *\nDisallow: /calendar/\n"
ALONE = {
    "cache-control": "no-store",
    "x-robots-tag": "noindex, nofollow",
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
}
_TAG = re.compile(r'(?:W/)?("[^"]*")')


class _Answer(Response):
    """An answer whose headers are made already."""

    def __init__(self, status: int, headers: RawHeaders, body: bytes = b"") -> None:
        self.status_code, self.body, self.background = status, body, None
        self.raw_headers = list(headers)


async def calendar(request: Request) -> Response:
    """Answer for an address: the calendar, 304 where the reader has it, 404 of none, 410 of one that is revoked."""
    ready = calendars_of(request)
    secret_hash = hash_of(request.path_params["secret"])
    known = ready.at_once(secret_hash)
    looked = known is None
    if known is None:
        try:
            known = await run_in_threadpool(ready.look, secret_hash)
        except Exception as error:  # noqa: BLE001 - a reader that is sent a fault's page may drop what it has
            logging.getLogger("leafclock").warning("a calendar could not be read: %s", type(error).__name__)
            return _told(503, "This calendar cannot be read just now.", {"retry-after": str(WAIT_S)})
    if known is None:
        return _told(404, "There is no calendar at this address.")
    if known.calendar is None:
        return _told(410, "This address was revoked.")
    answer = _answered(request.method, request.headers, known.calendar)
    if looked:
        answer.background = BackgroundTask(ready.note_use, known)
    return answer


async def robots(_request: Request) -> Response:
    """Ask search engines to leave secret addresses alone, should they hear of one."""
    return PlainTextResponse(ROBOTS)


ROUTES = (
    Route("/calendar/{secret}.ics", calendar, methods=["GET"]),  # which takes HEAD as well
    Route("/robots.txt", robots, methods=["GET"]),
)
"""Plain routes, to be asked first: a secret address is no part of the description of the data, and readers ask often."""


def _answered(method: str, headers: Headers, calendar: ReadyCalendar) -> Response:
    sent = calendar.packed if takes_gzip(headers.get("accept-encoding", "")) else calendar.plain
    if has_it(headers, sent.tag, calendar.modified_at):
        return _Answer(304, sent.unchanged)
    return _Answer(200, sent.headers, b"" if method == "HEAD" else sent.body)


def has_it(headers: Headers, tag: str, modified_at: datetime) -> bool:
    """Tell whether the reader has what it asks for; a tag that it names counts alone (RFC 9110 13.1.3)."""
    named = headers.get("if-none-match")
    if named is not None:
        return named.strip() == "*" or tag in _TAG.findall(named)
    since = _moment(headers.get("if-modified-since", ""))
    return since is not None and modified_at <= since


@lru_cache(64)
def takes_gzip(accepted: str) -> bool:
    """Tell whether a reader takes what is packed with gzip (RFC 9110 12.5.3).

    >>> takes_gzip("gzip, deflate"), takes_gzip("*;q=0.1"), takes_gzip("gzip;q=0, *"), takes_gzip("")
    (True, True, False, False)
    """
    shares: dict[str, float] = {}
    for part in accepted.lower().split(","):
        coding, _, weight = part.partition(";")
        shares[coding.strip()] = _share(weight.strip().removeprefix("q="))
    return shares.get("gzip", shares.get("x-gzip", shares.get("*", 0.0))) > 0.0


def _share(weight: str) -> float:
    try:
        return float(weight) if weight else 1.0
    except ValueError:
        return 0.0


def _moment(text: str) -> datetime | None:
    try:
        found = parsedate_to_datetime(text)
    except (ValueError, OverflowError):  # the latter for a number that no date can have
        return None
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def _told(status: int, text: str, more: dict[str, str] | None = None) -> Response:
    return PlainTextResponse(f"{text}\n", status, {**ALONE, **(more or {})})
