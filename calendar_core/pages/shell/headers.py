"""What every answer says of itself to the browser, and which questions are not answered at all."""

from __future__ import annotations

from functools import lru_cache
from http import HTTPStatus
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse

if TYPE_CHECKING:
    from collections.abc import Callable

    from starlette.types import ASGIApp, Message, Receive, Scope, Send

SAFE = ("GET", "HEAD", "OPTIONS")
OF_ALL: dict[str, str] = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(self), microphone=()",
    "X-Robots-Tag": "noindex, nofollow",
}
_RAW = [
    (name.lower().encode(), value.encode())
    for name, value in (*OF_ALL.items(), ("Cache-Control", "no-store"))
]
LONGEST_BODY = (
    2_000_000  # bytes of a form, its file included (estimate: a spreadsheet of 3,000 trees is 300 kB)
)


class Guard:
    """Puts the headers on all answers, and refuses questions under another name, from another site, or without end.

    A name that leads here from elsewhere would let a page of another site read this one (DNS rebinding); a form of another
    site could write. Source: W3C Fetch Metadata (Sec-Fetch-Site), RFC 6454 (Origin).
    """

    def __init__(self, app: ASGIApp, hosts: Callable[[], tuple[str, ...]]) -> None:
        self._app, self._hosts = app, hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer or pass on."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            # What is unchanged keeps the headers that it came with (RFC 9110 15.4.5).
            if message["type"] == "http.response.start" and message["status"] != HTTPStatus.NOT_MODIFIED:
                said = {name.lower() for name, _ in message["headers"]}
                message["headers"] = [*message["headers"], *(one for one in _RAW if one[0] not in said)]
            await send(message)

        refused = self._refusal(scope)
        if refused is not None:
            await refused(scope, receive, with_headers)
            return
        await self._app(scope, _bounded(receive), with_headers)

    def _refusal(self, scope: Scope) -> PlainTextResponse | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if _name(host) not in (*self._hosts(), _reached_at(scope)):
            told = f"These pages do not answer to '{_name(host)[:80]}'; right would be a name given with: leafclock serve --name\n"
            return PlainTextResponse(told, 421)
        if scope["method"] in SAFE:
            return None
        origin, site = headers.get("origin"), headers.get("sec-fetch-site", "same-origin")
        if site not in ("same-origin", "none") or (origin is not None and urlsplit(origin).netloc != host):
            return PlainTextResponse("Only a form of these pages may write to them.\n", 403)
        if int(headers.get("content-length") or 0) > LONGEST_BODY:
            return PlainTextResponse(
                f"That is too much at once; right would be less than {LONGEST_BODY} bytes\n", 413
            )
        return None


def _reached_at(scope: Scope) -> str:
    """Return the address at which the question came in: a number is no name that somebody could let lead here."""
    server = scope.get("server")
    return str(server[0]) if server else ""


@lru_cache(64)
def _name(host: str) -> str:
    """Return the name of a host without its port."""
    try:
        return (urlsplit(f"//{host}").hostname or "").lower()
    except ValueError:
        return ""


def _bounded(receive: Receive) -> Receive:
    """Return a body that ends where it becomes too long, whatever length was said."""
    taken = 0

    async def bounded() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > LONGEST_BODY:
            return {"type": "http.disconnect"}
        return message

    return bounded
