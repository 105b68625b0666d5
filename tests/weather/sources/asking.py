"""A client as the tests use it, and a server that gives replies in turn.

Its clock stands, its waits are noted and not sat out, its store is a dict.
"""

from __future__ import annotations

import json
import socket
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest
from werkzeug import Request, Response

from calendar_core.weather.sources.http import Client, KeptAnswer, ServiceError

if TYPE_CHECKING:
    from collections.abc import Callable

    from pytest_httpserver import HTTPServer

AGENT = "leafclock-tests/0.1 (+https://example.org; grower@example.org)"
DATA = {"t": [1.5, None]}


class Shelf(dict[str, KeptAnswer]):
    """Answers by URL."""

    def put(self, kept: KeptAnswer) -> None:
        self[kept.url] = kept


@dataclass
class Asking:
    """A client and what surrounds it; ``moment`` is set by the test."""

    moment: datetime = datetime(2026, 3, 1, 12, tzinfo=UTC)
    shelf: Shelf = field(default_factory=Shelf)
    waits: list[float] = field(default_factory=list)

    def client(self, **limits: Any) -> Client:
        """Return a new client, without pauses unless they are asked for."""
        return Client(
            AGENT, lambda: self.moment, self.shelf, **{"sleep": self.waits.append, "pause_s": 0.0, **limits}
        )


def asked(server: HTTPServer) -> list[tuple[str, dict[str, str]]]:
    """Return path and parameters of each request that came in."""
    return [(request.path, request.args.to_dict()) for request, _ in server.log]


def serve(server: HTTPServer, *replies: Response | Callable[[Request], Response]) -> str:
    """Serve these replies one after the other, then the last again and again; return the address."""
    left = list(replies)

    def handler(request: Request) -> Response:
        reply = left.pop(0) if len(left) > 1 else left[0]
        return reply if isinstance(reply, Response) else reply(request)

    server.expect_request("/data").respond_with_handler(handler)
    return server.url_for("/data")


def reply(body: str | bytes = json.dumps(DATA), status: int = 200, **headers: str) -> Response:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return Response(body, status, named, content_type="application/json")


def failure(client: Client, url: str, **how: object) -> ServiceError:
    with pytest.raises(ServiceError) as caught:
        client.json(url, **how)  # type: ignore[arg-type]
    text = str(caught.value)
    assert "\n" not in text
    assert "localhost" in text
    return caught.value


def closed_port() -> str:
    """Return an address where nobody listens."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return f"http://localhost:{free.getsockname()[1]}/data"
