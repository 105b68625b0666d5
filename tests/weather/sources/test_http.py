"""The client's requests and tries against a real server. Source: RFC 9110 (statuses, Retry-After)."""

from __future__ import annotations

import gzip
import json
import socket
import threading
import time
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

import pytest
from werkzeug import Response

from calendar_core.weather.sources import answers
from calendar_core.weather.sources.http import Client, ServiceError
from calendar_core.weather.sources.line import leads_into_the_house
from tests.weather.sources.asking import AGENT, DATA, Asking, closed_port, failure, reply, serve

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from pytest_httpserver import HTTPServer


@pytest.fixture
def asking() -> Asking:
    return Asking()


# -- a request ---------------------------------------------------------------------------------------------


def test_request_names_us_and_is_sorted(httpserver: HTTPServer, asking: Asking) -> None:
    client = asking.client()
    assert client.json(serve(httpserver, reply()), {"b": "2,3", "a": "1"}, headers={"Accept": "x/y"}) == DATA
    (request, _) = httpserver.log[0]
    assert request.method == "GET"
    assert request.query_string == b"a=1&b=2%2C3"
    assert request.headers["User-Agent"] == AGENT
    assert request.headers["Accept"] == "x/y"
    assert request.headers["Accept-Encoding"] == "gzip"
    assert client.last is not None
    assert (client.last.fetched, client.stale, client.deprecated) == (asking.moment, False, False)


def test_a_nameless_agent_is_no_client(asking: Asking) -> None:
    with pytest.raises(ValueError, match="name and a contact"):
        Client(" ", lambda: asking.moment, pause_s=0.0)


def test_requests_to_one_host_are_apart(httpserver: HTTPServer, asking: Asking) -> None:
    now = [100.0]
    client = asking.client(pause_s=0.2, monotonic=lambda: now[0])
    url = serve(httpserver, reply())
    client.json(url)
    now[0] += 0.05
    client.json(url)
    now[0] += 3
    client.json(url)
    assert asking.waits == pytest.approx([0.15])


def test_deprecation_is_told(httpserver: HTTPServer, asking: Asking) -> None:
    client = asking.client()
    url = serve(httpserver, reply(status=203), reply())
    assert client.json(url) == DATA
    assert client.deprecated
    client.json(url)
    assert not client.deprecated


# -- tries -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("status", [500, 502, 503, 504])
def test_trouble_that_passes(httpserver: HTTPServer, asking: Asking, status: int) -> None:
    url = serve(httpserver, reply("", status), reply("", status), reply())
    assert asking.client().json(url) == DATA
    assert asking.waits == [0.5, 1.0]


def test_trouble_that_stays(httpserver: HTTPServer, asking: Asking) -> None:
    url = serve(httpserver, reply("<h1>Bad\ngateway</h1>", 502))
    error = failure(asking.client(), url)
    assert (error.kind, error.wait_s, error.reason) == ("down", None, "Bad gateway")
    assert str(error) == "localhost answers 502 BAD GATEWAY: Bad gateway"
    assert len(httpserver.log) == 3


def test_nobody_there(asking: Asking) -> None:
    error = failure(asking.client(), closed_port())
    assert (error.kind, str(error)) == ("down", "localhost cannot be reached")
    assert len(asking.waits) == 2


def test_silence(asking: Asking) -> None:
    with socket.create_server(("127.0.0.1", 0)) as silent:
        error = failure(asking.client(timeouts=(1.0, 0.05)), f"http://localhost:{silent.getsockname()[1]}/")
    assert (error.kind, str(error)) == ("down", "localhost was silent for 0.05 s")
    assert asking.waits == [0.5, 1.0]


@pytest.mark.parametrize(
    ("status", "reason", "kind"),
    [(400, "Latitude out of range", "refused"), (404, "no such grid", "refused"), (501, "not made", "down")],
)
def test_refusal_is_told_in_their_words(
    httpserver: HTTPServer, asking: Asking, status: int, reason: str, kind: str
) -> None:
    tries = 1 if kind == "refused" else 3
    url = serve(httpserver, reply(json.dumps({"error": True, "reason": reason}), status))
    error = failure(asking.client(), url)
    assert (error.kind, error.reason) == (kind, reason)
    assert str(error).endswith(f": {reason}")
    assert len(httpserver.log) == tries


# The two forms of Retry-After are those of RFC 9110, section 10.2.3.
@pytest.mark.parametrize("asked_for", ["3600", "Sun, 01 Mar 2026 13:00:00 GMT"])
def test_an_hour_is_not_waited(httpserver: HTTPServer, asking: Asking, asked_for: str) -> None:
    error = failure(asking.client(), serve(httpserver, reply("", 429, Retry_After=asked_for)))
    assert (error.kind, error.wait_s) == ("busy", 3600)
    assert asking.waits == []
    assert len(httpserver.log) == 1


@pytest.mark.parametrize("asked_for", ["20", "Sun, 01 Mar 2026 12:00:20 GMT"])
@pytest.mark.parametrize("status", [429, 503])
def test_a_short_wait_is_waited(httpserver: HTTPServer, asking: Asking, status: int, asked_for: str) -> None:
    url = serve(httpserver, reply("", status, Retry_After=asked_for), reply())
    assert asking.client().json(url) == DATA
    assert asking.waits == [20.0]


def test_waits_asked_for_do_not_count_against_the_deadline(httpserver: HTTPServer, asking: Asking) -> None:
    now = [0.0]

    def sleep(wait_s: float) -> None:
        now[0] += wait_s

    busy = [reply("", 503, Retry_After="50") for _ in range(2)]
    client = asking.client(deadline_s=60.0, sleep=sleep, monotonic=lambda: now[0])
    assert client.json(serve(httpserver, *busy, reply())) == DATA
    assert now == [100.0]


def test_waits_come_to_an_end(httpserver: HTTPServer, asking: Asking) -> None:
    error = failure(asking.client(), serve(httpserver, reply("", 429, Retry_After="20")))
    assert (error.kind, error.wait_s) == ("busy", 20)
    assert asking.waits == [20.0, 20.0]


@pytest.mark.parametrize("asked_for", ["", "soon", "-5", "1e3", "9" * 400])
def test_busy_without_a_time_is_left_alone(httpserver: HTTPServer, asking: Asking, asked_for: str) -> None:
    error = failure(asking.client(), serve(httpserver, reply("", 429, Retry_After=asked_for)))
    assert (error.kind, error.wait_s, asking.waits) == ("busy", None, [])


def test_no_try_after_the_deadline(httpserver: HTTPServer, asking: Asking) -> None:
    url = serve(httpserver, reply("", 500), reply())
    assert failure(asking.client(deadline_s=0.4), url).kind == "down"
    assert len(httpserver.log) == 1


# -- bodies ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "found"),
    [
        (b"<!DOCTYPE html>\n<html><body>Sorry</body></html>", "a web page"),
        (b'{"t": [1.5, 2.', "14 bytes that are no JSON from character 13 on"),
        (b'{"t": [1.5Unexpected error while streaming data: x', "no JSON from character 10 on"),
        (b"", "0 bytes that are no JSON"),
        (b"\xff\xfe\x00", "3 bytes that are no JSON"),
        (b"[" * 200_000, "200000 bytes that are no JSON"),
    ],
)
def test_no_json(httpserver: HTTPServer, asking: Asking, body: bytes, found: str) -> None:
    error = failure(asking.client(), serve(httpserver, reply(body)), keep="conditional")
    assert error.kind == "nonsense"
    assert found in str(error)
    assert str(error).endswith("; right would be JSON")
    assert len(httpserver.log) == 2
    assert asking.shelf == {}


def test_nonsense_that_passes(httpserver: HTTPServer, asking: Asking) -> None:
    assert asking.client().json(serve(httpserver, reply("{"), reply())) == DATA


def test_readers_may_find_nonsense(httpserver: HTTPServer, asking: Asking) -> None:
    def read(body: bytes) -> str:
        if body == b"0":
            raise answers.Nonsense("0; right would be 1")
        return body.decode()

    url = serve(httpserver, reply("0"), reply("0"), reply("1"))
    with pytest.raises(ServiceError, match=r"^localhost: 0; right would be 1$"):
        asking.client().ask(url, None, read, keep="for ever")
    assert asking.shelf == {}
    assert asking.client().ask(url, None, read, keep="for ever") == "1"


def test_body_that_drips(httpserver: HTTPServer, asking: Asking) -> None:
    def drops() -> Iterator[bytes]:
        for _ in range(40):
            time.sleep(0.02)
            yield b" "
        yield b"1"

    url = serve(httpserver, lambda _: Response(drops(), content_type="application/json"))
    error = failure(asking.client(deadline_s=0.1), url)
    assert (error.kind, str(error)) == ("down", "localhost did not finish its answer within 0.1 s")
    assert len(httpserver.log) == 1


def test_body_that_breaks_off(httpserver: HTTPServer, asking: Asking) -> None:
    class Short(Response):
        automatically_set_content_length = False

    url = serve(httpserver, Short(b'{"t":', 200, {"Content-Length": "100"}), reply())
    assert asking.client().json(url) == DATA
    assert asking.waits == [0.5]


def test_packed_body(httpserver: HTTPServer, asking: Asking) -> None:
    packed = gzip.compress(json.dumps(DATA).encode())
    url = serve(httpserver, reply(packed, Content_Encoding="gzip"))
    assert asking.client().json(url) == DATA
    cut = reply(packed[:-9], Content_Encoding="gzip")
    httpserver.clear()
    assert "cannot be unpacked" in str(failure(asking.client(), serve(httpserver, cut)))


@pytest.mark.parametrize("packed", [True, False])
def test_too_large(httpserver: HTTPServer, asking: Asking, packed: bool) -> None:
    plain = b" " * 300_000 + b"1"
    large = reply(gzip.compress(plain), Content_Encoding="gzip") if packed else reply(plain)
    url = serve(httpserver, large)
    assert asking.client(most_bytes=len(plain)).json(url) == 1
    error = failure(asking.client(most_bytes=len(plain) - 1), url)
    assert (error.kind, str(error)) == ("nonsense", "localhost: more than 300000 bytes; right would be fewer")


def test_text_plain_and_packed(httpserver: HTTPServer, asking: Asking) -> None:
    """A gzip file of several members is one text (RFC 1952, section 2.2)."""
    csv = "ID,NAME\nX1,Åre\n"
    parts = gzip.compress(csv[:8].encode()) + gzip.compress(csv[8:].encode())
    for name, body in {"a.csv": b"\xef\xbb\xbf" + csv.encode(), "a.csv.gz": parts}.items():
        httpserver.expect_request(f"/{name}").respond_with_data(body, content_type="text/csv")
        assert asking.client().text(httpserver.url_for(f"/{name}"), keep="conditional") == csv
    httpserver.expect_request("/page").respond_with_data("\n<html>no such file</html>")
    with pytest.raises(ServiceError, match="a web page; right would be the data"):
        asking.client().text(httpserver.url_for("/page"))


# -- redirects ---------------------------------------------------------------------------------------------


def test_three_redirects_at_most(httpserver: HTTPServer, asking: Asking) -> None:
    for n in range(4):
        to = Response("", 302, {"Location": f"/{n - 1}" if n else "/data"})
        httpserver.expect_request(f"/{n}").respond_with_response(to)
    serve(httpserver, reply())
    assert asking.client().json(httpserver.url_for("/2"), keep="conditional") == DATA
    assert list(asking.shelf) == [httpserver.url_for("/2")]
    error = failure(asking.client(), httpserver.url_for("/3"))
    assert (error.kind, str(error)) == (
        "refused",
        "localhost leads on more than 3 times; right would be fewer",
    )


def test_redirect_to_another_scheme(httpserver: HTTPServer, asking: Asking) -> None:
    url = serve(httpserver, Response("", 301, {"Location": "ftp://example.org/x"}))
    error = failure(asking.client(), url)
    assert str(error) == "localhost leads on to ftp://example.org; right would be http"
    assert error.kind == "refused"


def test_no_address(asking: Asking) -> None:
    for url in ("", "example.org/data", "http://", "file:///etc/hosts", "http://[::1/"):
        with pytest.raises(ServiceError, match="right would be a web address") as caught:
            asking.client().json(url)
        assert caught.value.kind == "refused"


def test_redirect_of_a_public_host_stays_in_public(httpserver: HTTPServer, asking: Asking) -> None:
    """What the service asks for on this machine or its network would be asked for in the grower's name."""
    for to in ("http://127.0.0.1/x", "http://[::1]/x", "http://192.168.1.1/x", "http://[64:ff9b::c0a8:101]/x", "http://169.254.169.254/x"):  # fmt: skip
        assert leads_into_the_house("http://1.1.1.1/data", to)
    assert not leads_into_the_house("http://1.1.1.1/data", "http://8.8.8.8/x")
    assert not leads_into_the_house("http://127.0.0.1/data", "http://127.0.0.1:81/x")  # one's own, on purpose


# -- the deadline of a whole request -------------------------------------------------------------------------


@contextmanager
def drips(*, of_tls: bool = False) -> Iterator[int]:
    """Give the port of a server that sends a sign every 50 ms for as long as it is listened to."""
    stop = threading.Event()

    def answer(line: socket.socket) -> None:
        with line, suppress(OSError):
            if not of_tls:
                line.sendall(b"HTTP/1.1 200 OK\r\nX-Slow: ")
            # A record of a handshake that says it is long (RFC 8446, 5.1), and never ends.
            signs = b"\x16\x03\x03\x40\x00\x02\x00\x3f\xfc" + bytes(20_000) if of_tls else b"a" * 20_000
            for sign in signs:
                if stop.wait(0.05):
                    return
                line.sendall(bytes([sign]))

    def accept(listening: socket.socket) -> None:
        with suppress(OSError):
            while True:
                threading.Thread(target=answer, args=(listening.accept()[0],), daemon=True).start()

    with socket.create_server(("127.0.0.1", 0)) as listening:
        threading.Thread(target=accept, args=(listening,), daemon=True).start()
        yield int(listening.getsockname()[1])
        stop.set()
        with suppress(OSError):
            listening.shutdown(socket.SHUT_RDWR)


@pytest.mark.parametrize("scheme", ["http", "https"])
def test_an_answer_that_drips_ends_by_the_deadline(asking: Asking, scheme: str) -> None:
    """Each sign alone would come in time for ever: 20,000 of them take a quarter of an hour."""
    with drips(of_tls=scheme == "https") as port:
        began = time.monotonic()
        error = failure(asking.client(deadline_s=0.4), f"{scheme}://localhost:{port}/data")
        assert time.monotonic() - began < 30
    assert (error.kind, str(error)) == ("down", "localhost did not finish its answer within 0.4 s")


def test_many_silent_addresses_share_one_deadline(asking: Asking, monkeypatch: pytest.MonkeyPatch) -> None:
    """A queue that is full takes no more connections: each of the addresses alone would be waited for."""
    with socket.socket() as full, socket.socket() as one, socket.socket() as two:
        full.bind(("127.0.0.1", 0))
        full.listen(0)
        for waiting in (one, two):
            waiting.setblocking(False)
            waiting.connect_ex(full.getsockname())
        silent = [(socket.AF_INET, socket.SOCK_STREAM, 6, "", full.getsockname())] * 400
        monkeypatch.setattr(socket, "getaddrinfo", lambda *_args, **_how: silent)
        began = time.monotonic()
        error = failure(asking.client(deadline_s=0.4, timeouts=(0.2, 0.2)), "http://localhost/data")
        assert time.monotonic() - began < 30
    assert (error.kind, str(error)) == ("down", "localhost did not finish its answer within 0.4 s")


def test_no_password_is_taken_from_a_file(
    httpserver: HTTPServer, asking: Asking, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / ".netrc").write_text("default login ines password s3cret\n", encoding="utf-8")
    monkeypatch.setenv("NETRC", str(tmp_path / ".netrc"))
    assert asking.client().json(serve(httpserver, reply())) == DATA
    assert "Authorization" not in httpserver.log[0][0].headers
