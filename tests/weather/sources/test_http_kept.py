"""Answers that are kept, against a real server. Sources: RFC 9110, section 13 (conditions), RFC 9111."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from calendar_core.weather.sources import answers
from calendar_core.weather.sources.http import KeptAnswer
from tests.weather.sources.asking import DATA, Asking, asked, closed_port, failure, reply, serve

if TYPE_CHECKING:
    from pytest_httpserver import HTTPServer
    from werkzeug import Request, Response

MODIFIED = "Sun, 01 Mar 2026 11:52:07 GMT"
EXPIRES = "Sun, 01 Mar 2026 12:30:00 GMT"


@pytest.fixture
def asking() -> Asking:
    return Asking()


def keeping(request: Request) -> Response:
    """Answer as a server with conditional requests does; werkzeug decides on 304 (RFC 9110, section 13)."""
    answer = reply(Last_Modified=MODIFIED, Expires=EXPIRES, ETag='"a1"')
    return answer.make_conditional(request)


def test_no_request_before_it_expires(httpserver: HTTPServer, asking: Asking) -> None:
    url = serve(httpserver, keeping)
    for _ in range(2):
        client = asking.client()
        assert client.json(url, {"b": "1", "a": "2"}, keep="conditional") == DATA
        assert (client.stale, client.last) == (False, asking.shelf[f"{url}?a=2&b=1"])
    assert len(httpserver.log) == 1
    asking.moment += timedelta(minutes=30)
    asking.client().json(url, {"a": "2", "b": "1"}, keep="conditional")
    assert len(httpserver.log) == 2


def test_not_modified(httpserver: HTTPServer, asking: Asking) -> None:
    url = serve(httpserver, keeping)
    asking.client().json(url, keep="conditional")
    before = asking.moment
    asking.moment += timedelta(hours=2)
    renewed = "Sun, 01 Mar 2026 14:40:00 GMT"
    httpserver.clear_all_handlers()
    serve(httpserver, reply("", 304, Expires=renewed))
    client = asking.client()
    assert client.json(url, keep="conditional") == DATA
    request, response = httpserver.log[-1]
    assert (request.headers["If-Modified-Since"], request.headers["If-None-Match"]) == (MODIFIED, '"a1"')
    assert response.status_code == 304
    expires = datetime(2026, 3, 1, 14, 40, tzinfo=UTC)
    body = json.dumps(DATA).encode()
    assert client.last == KeptAnswer(url, '"a1"', MODIFIED, expires, before, body)  # as old as it is
    assert asking.shelf[url] == client.last
    assert not client.stale
    asking.client().json(url, keep="conditional")
    assert len(httpserver.log) == 2


def test_modified(httpserver: HTTPServer, asking: Asking) -> None:
    url = serve(httpserver, keeping, reply("[2]"), reply("[3]"))
    asking.client().json(url, keep="conditional")
    asking.moment += timedelta(hours=2)
    assert asking.client().json(url, keep="conditional") == [2]
    assert asking.shelf[url].last_modified is None
    assert asking.client().json(url, keep="conditional") == [3]
    assert "If-Modified-Since" not in httpserver.log[-1][0].headers


@pytest.mark.parametrize("where", ["nobody", "503"])
def test_stored_answer_stands_in(httpserver: HTTPServer, asking: Asking, where: str) -> None:
    url = closed_port() if where == "nobody" else serve(httpserver, reply("", 503))
    old = KeptAnswer(url, None, MODIFIED, None, asking.moment - timedelta(hours=9), b"[7]")
    asking.shelf.put(old)
    client = asking.client()
    assert client.json(url, keep="conditional") == [7]
    assert (client.stale, client.last) == (True, old)
    assert asking.shelf[url] == old
    assert failure(client, url).kind == "down"  # without keep nothing stored is used
    assert not client.stale


@pytest.mark.parametrize(("status", "kind"), [(403, "refused"), (429, "busy")])
def test_stored_answer_hides_no_refusal(
    httpserver: HTTPServer, asking: Asking, status: int, kind: str
) -> None:
    url = serve(httpserver, reply("", status))
    asking.shelf.put(KeptAnswer(url, None, None, None, asking.moment, b"[7]"))
    assert failure(asking.client(), url, keep="conditional").kind == kind


def test_kept_for_ever(httpserver: HTTPServer, asking: Asking) -> None:
    url = serve(httpserver, reply(Expires=EXPIRES))
    for _ in range(2):
        assert asking.client().json(url, keep="for ever") == DATA
        asking.moment += timedelta(days=9000)
    assert len(httpserver.log) == 1


def test_only_what_is_worth_it_is_kept(httpserver: HTTPServer, asking: Asking) -> None:
    url = serve(httpserver, reply("1"), reply("2"))
    for _ in range(3):
        asking.client().ask(url, None, answers.as_json, keep="for ever", worth_keeping=lambda n: n == 2)
    assert len(httpserver.log) == 2


def test_a_stored_answer_that_cannot_be_read_is_asked_anew(httpserver: HTTPServer, asking: Asking) -> None:
    url = serve(httpserver, reply())
    asking.shelf.put(KeptAnswer(url, '"a1"', MODIFIED, None, asking.moment, b"{"))
    assert asking.client().json(url, keep="for ever") == DATA
    assert "If-None-Match" not in httpserver.log[0][0].headers


def test_not_modified_though_nothing_is_stored(httpserver: HTTPServer, asking: Asking) -> None:
    assert failure(asking.client(), serve(httpserver, reply("", 304)), keep="conditional").kind == "nonsense"


def test_secrets_are_neither_stored_nor_told(httpserver: HTTPServer, asking: Asking) -> None:
    url = serve(httpserver, reply())
    asking.client().json(url, {"apikey": "s3cret", "x": "1"}, keep="conditional")
    assert asked(httpserver) == [("/data", {"apikey": "s3cret", "x": "1"})]
    assert list(asking.shelf) == [f"{url}?x=1"]
    assert "s3cret" not in str(failure(asking.client(), closed_port(), params={"apikey": "s3cret"}))
