"""Mail and web hooks against real receivers on this machine, good and bad.

Web hooks are verified by the standardwebhooks package, the reference of Standard Webhooks 1.0.0.
"""

from __future__ import annotations

import socket
import threading
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

import pytest
from standardwebhooks.webhooks import Webhook, WebhookVerificationError
from werkzeug import Request, Response

from alerts.delivery import hook, line, many
from alerts.delivery.carrier import Carrier, check_address
from alerts.delivery.mail import MailServer, send_mail, written
from alerts.notices import Channel, Message, Refused, Result, Retry, Sent
from calendar_core.weather.sources.hosts import is_public
from tests.alerts.conftest import NOW, MailBox, a_notice, free_port

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from pytest_httpserver import HTTPServer

    Make = Callable[..., Message]


def a_mail(address: str = "ines@leafclock.example", **more: Any) -> Message:
    return Message(uuid4(), Channel(uuid4(), uuid4(), "mail", address), a_notice(), **more)


def why(result: Result, kind: type[Retry | Refused]) -> str:
    assert isinstance(result, kind)
    return result.why


def test_a_mail_arrives_as_the_standards_want(mail_server: MailServer, mail_box: MailBox) -> None:
    """RFC 5322 (Message-ID, References), RFC 3834 (Auto-Submitted)."""
    earlier = (UUID(int=1), UUID(int=2))
    message = a_mail(earlier=earlier)
    assert send_mail(mail_server, message, NOW) == Sent()
    assert send_mail(mail_server, message, NOW + timedelta(hours=1)) == Sent()
    first, second = mail_box.mails
    assert first["Message-ID"] == second["Message-ID"] == f"<{message.id}@leafclock.example>"
    assert first["In-Reply-To"] == f"<{earlier[1]}@leafclock.example>"
    assert first["References"].split() == [f"<{each}@leafclock.example>" for each in earlier]
    assert first["Auto-Submitted"] == "auto-generated"
    assert first["Date"].datetime == NOW
    assert (first["To"], first["Subject"]) == ("ines@leafclock.example", message.notice.subject)
    assert first.get_content().rstrip() == message.notice.text


def test_a_subject_cannot_add_headers() -> None:
    message = replace(a_mail(), notice=a_notice(subject="Heat\r\nBcc: all@leafclock.example"))
    mail = written(message, "garden@leafclock.example", NOW)
    assert mail["Bcc"] is None
    assert mail["Subject"] == "Heat Bcc: all@leafclock.example"


def test_a_long_subject_is_not_folded() -> None:
    """Folded after its name, as the mail library does, it begins with a space in what some clients show."""
    message = replace(a_mail(), notice=a_notice(subject="Danger from cold pots, Wednesday " * 4))
    assert b"\r\nSubject: Danger" in written(message, "garden@leafclock.example", NOW).as_bytes()


@pytest.mark.parametrize("command", ["RCPT", "DATA"])
@pytest.mark.parametrize(("answer", "kind"), [("550 no such user", Refused), ("451 come later", Retry)])
def test_replies_are_refusals_or_not(
    mail_server: MailServer, mail_box: MailBox, command: str, answer: str, kind: Any
) -> None:
    """RFC 5321, section 4.2.1: 4yz may be tried again, 5yz should not. After DATA it may be about the text."""
    mail_box.answers[command] = answer
    result = send_mail(mail_server, a_mail(), NOW)
    assert why(result, kind) == answer
    assert getattr(result, "text_only", False) is (kind is Refused and command == "DATA")


def test_a_sender_has_a_name_and_its_address_makes_the_ids(
    mail_server: MailServer, mail_box: MailBox
) -> None:
    message = a_mail(earlier=(UUID(int=1),))
    named = replace(mail_server, sender_name="Leafclock, at home")
    assert send_mail(named, message, NOW) == Sent()
    (mail,) = mail_box.mails
    assert mail["From"] == '"Leafclock, at home" <garden@leafclock.example>'
    assert mail["Message-ID"] == f"<{message.id}@leafclock.example>"
    assert mail["In-Reply-To"] == f"<{UUID(int=1)}@leafclock.example>"


def test_no_mail_server_no_name_no_tls(mail_server: MailServer) -> None:
    refused = replace(mail_server, port=free_port())
    assert "refused" in why(send_mail(refused, a_mail(), NOW), Retry)
    unknown = replace(mail_server, host="mail.invalid")  # RFC 6761: never resolves
    assert why(send_mail(unknown, a_mail(), NOW), Retry)
    plain = replace(mail_server, security="starttls")
    assert "STARTTLS" in why(send_mail(plain, a_mail(), NOW), Retry)
    assert why(send_mail(replace(mail_server, security="tls"), a_mail(), NOW), Retry)
    assert why(Carrier(None, lambda: NOW)(a_mail()), Retry) == "no mail server is set"


def test_a_wrong_password_does_not_switch_channels_off(mail_server: MailServer) -> None:
    """Nor does a server that takes none: it is the server's trouble, not the recipient's."""
    assert isinstance(send_mail(replace(mail_server, user="garden", password="x"), a_mail(), NOW), Retry)  # noqa: S106


@pytest.fixture
def stalling() -> Iterator[Callable[[bytes], int]]:
    """Give a server that says something, byte by byte, and never ends; by its port."""
    over = threading.Event()
    listening: list[socket.socket] = []
    threads: list[threading.Thread] = []

    def serve(server: socket.socket, drip: bytes) -> None:
        try:
            peer, _ = server.accept()
        except OSError:
            return
        with peer:
            while not over.wait(0.02):
                try:
                    peer.sendall(drip)
                except OSError:
                    return

    def made(drip: bytes) -> int:
        server = socket.create_server(("127.0.0.1", 0))
        listening.append(server)
        threads.append(threading.Thread(target=serve, args=(server, drip)))
        threads[-1].start()
        port: int = server.getsockname()[1]
        return port

    yield made
    over.set()
    for server in listening:
        server.close()
    for thread in threads:
        thread.join()


@pytest.mark.parametrize("drip", [b"", b"x"])
def test_a_server_that_stalls_or_drips_is_left(
    stalling: Callable[[bytes], int], hook_message: Make, drip: bytes
) -> None:
    """A dripping one keeps within every timeout: only the deadline ends it."""
    server = MailServer("127.0.0.1", "garden@leafclock.example", stalling(drip), "none")
    assert isinstance(send_mail(server, a_mail(), NOW, timeout_s=0.3, deadline_s=0.6), Retry)
    message = hook_message()
    slow = replace(message.channel, address=f"http://127.0.0.1:{stalling(drip)}/")
    result = hook.send_hook(replace(message, channel=slow), NOW, timeout_s=0.3, deadline_s=0.6)
    assert isinstance(result, Retry)
    assert result.unsure


@pytest.fixture
def silent() -> Iterator[int]:
    """Give the port of a server whose queue of callers is full: who connects hears nothing (Linux, tcp(7))."""
    with socket.socket() as server:
        server.bind(("127.0.0.1", 0))
        server.listen(0)
        port: int = server.getsockname()[1]
        callers = [socket.socket() for _ in range(4)]
        for caller in callers:
            caller.setblocking(False)
            caller.connect_ex(("127.0.0.1", port))
        yield port
        for caller in callers:
            caller.close()


def test_the_deadline_binds_connecting_too(
    silent: int, hook_message: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of forty addresses that are silent only so many are asked as there is time for."""
    asked: list[Any] = []
    connect = socket.create_connection

    def counted(address: Any, *more: Any, **named: Any) -> socket.socket:
        asked.append(address)
        return connect(address, *more, **named)

    monkeypatch.setattr(line, "reachable", lambda *_given, **_more: ["127.0.0.1"] * 40)
    monkeypatch.setattr(socket, "create_connection", counted)
    message = hook_message()
    there = replace(message.channel, address=f"http://silent.leafclock.example:{silent}/")
    assert isinstance(
        hook.send_hook(replace(message, channel=there), NOW, timeout_s=0.1, deadline_s=0.35), Retry
    )
    assert 1 <= len(asked) <= 5
    asked.clear()
    for security in ("none", "tls"):
        server = MailServer("silent.leafclock.example", "garden@leafclock.example", silent, security)
        assert isinstance(send_mail(server, a_mail(), NOW, timeout_s=0.1, deadline_s=0.35), Retry)
    assert 1 <= len(asked) <= 10


def test_a_hook_is_signed(httpserver: HTTPServer, hook_message: Make) -> None:
    httpserver.expect_request("/hook", method="POST").respond_with_data("")
    message, now = hook_message(path="/hook?for=ines"), datetime.now(UTC)  # noqa: TID251 - the reference reads the clock
    assert hook.send_hook(message, now) == Sent()
    ((request, _),) = httpserver.log
    assert request.args["for"] == "ines"
    told = Webhook(message.channel.secret).verify(request.data, dict(request.headers))
    assert told["type"] == "warning.new"
    assert told["data"]["text"] == message.notice.text
    with pytest.raises(WebhookVerificationError):
        Webhook(hook.new_secret()).verify(request.data, dict(request.headers))


def test_a_repeat_bears_the_same_id_and_bytes(httpserver: HTTPServer, hook_message: Make) -> None:
    httpserver.expect_request("/hook").respond_with_data("", status=503)
    message = hook_message()
    for minutes in (0, 5):
        hook.send_hook(message, NOW + timedelta(minutes=minutes))
    first, second = (request for request, _ in httpserver.log)
    assert first.headers["webhook-id"] == second.headers["webhook-id"] == str(message.id)
    assert first.data == second.data
    assert first.headers["webhook-signature"] != second.headers["webhook-signature"]


@pytest.mark.parametrize(
    ("status", "kind"),
    [(200, Sent), (204, Sent), (404, Refused), (410, Refused), (400, Retry), (429, Retry), (500, Retry)],
)
def test_statuses(httpserver: HTTPServer, hook_message: Make, status: int, kind: type) -> None:
    httpserver.expect_request("/hook").respond_with_data("", status=status)
    assert isinstance(hook.send_hook(hook_message(), NOW), kind)


def test_the_wait_a_receiver_asks_for_is_told(httpserver: HTTPServer, hook_message: Make) -> None:
    """RFC 9110, section 10.2.3: seconds or a date."""
    httpserver.expect_request("/hook").respond_with_data("", status=429, headers={"Retry-After": "120"})
    result = hook.send_hook(hook_message(), NOW)
    assert isinstance(result, Retry)
    assert result.after_s == 120


def test_a_redirect_is_not_followed(httpserver: HTTPServer, hook_message: Make) -> None:
    to = Response(status=302, headers={"Location": httpserver.url_for("/elsewhere")})
    httpserver.expect_request("/hook").respond_with_response(to)
    assert "302" in why(hook.send_hook(hook_message(), NOW), Retry)
    assert len(httpserver.log) == 1


def test_this_machine_is_reached_only_if_allowed(httpserver: HTTPServer, hook_message: Make) -> None:
    message = hook_message(private_ok=False)
    assert "allow" in why(hook.send_hook(message, NOW), Refused)
    assert httpserver.log == []


@pytest.mark.parametrize(
    "address",
    ["127.0.0.1", "10.1.2.3", "192.168.1.1", "169.254.169.254", "100.64.0.1", "0.0.0.0", "224.0.0.1",  # noqa: S104
     "::1", "fe80::1%eth0", "fc00::1", "::ffff:192.168.1.1", "64:ff9b::c0a8:101", "64:ff9b:1::1", "2002:7f00:1::",
     "2002:c0a8:101::1", "::127.0.0.1", "fec0::1"],
)  # fmt: skip
def test_addresses_that_are_not_public(address: str) -> None:
    """IANA special-purpose address registries (RFC 6890); RFC 3056, 3879, 4291 and 6052."""
    assert not is_public(address)


@pytest.mark.parametrize(
    "address", ["8.8.8.8", "2606:4700::1111", "64:ff9b::808:808", "2002:808:808::1", "::ffff:8.8.8.8"]
)
def test_addresses_that_are_public(address: str) -> None:
    assert is_public(address)


def test_a_reason_cannot_steer_a_terminal(hook_message: Make) -> None:
    """Read to the end and answered by hand: no library would send this."""
    with socket.create_server(("127.0.0.1", 0)) as server:

        def answer() -> None:
            peer, _ = server.accept()
            with peer:
                peer.recv(65536)
                peer.sendall(b"HTTP/1.1 503 \x1b[2J\x1b]0;hi\x07busy\x00 \x9b1m\r\nContent-Length: 0\r\n\r\n")
                peer.recv(65536)

        thread = threading.Thread(target=answer)
        thread.start()
        message = hook_message()
        there = replace(message.channel, address=f"http://127.0.0.1:{server.getsockname()[1]}/")
        said = why(hook.send_hook(replace(message, channel=there), NOW), Retry)
        thread.join()
    assert said == "127.0.0.1 answers 503 [2J ]0;hi busy 1m"


def test_an_unknown_host_and_a_closed_port(hook_message: Make) -> None:
    message = hook_message()
    for address in ("http://hook.invalid/", f"http://127.0.0.1:{free_port()}/"):
        result = hook.send_hook(replace(message, channel=replace(message.channel, address=address)), NOW)
        assert isinstance(result, Retry)
        assert not result.unsure


def test_a_heartbeat_is_one_request(httpserver: HTTPServer) -> None:
    httpserver.expect_request("/beat", method="GET").respond_with_data("")
    assert hook.beat(httpserver.url_for("/beat"), NOW, private_ok=True) == Sent()


def test_a_heartbeat_to_a_port_that_is_none_is_a_try_that_failed() -> None:
    assert isinstance(hook.beat("http://127.0.0.1:99999/beat", NOW, private_ok=True), Retry)


@pytest.mark.parametrize(
    ("kind", "address"),
    [("mail", "ines"), ("mail", "ines@a.example\nBcc: b@a.example"), ("hook", "http://a.example/"), ("hook", "file:///etc/passwd"),
     ("hook", "https://u:p@a.example/"), ("apprise", "file:///etc/passwd"), ("apprise", "json://127.0.0.1"), ("apprise", "syslog://"),
     ("apprise", "ntfys")],
)  # fmt: skip
def test_addresses_are_refused(kind: Any, address: str) -> None:
    channel = Channel(uuid4(), uuid4(), kind, address, hook.new_secret())
    with pytest.raises(ValueError, match=r"right|begins|holds|not used"):
        check_address(channel)


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_addresses_are_taken() -> None:
    for kind, address, more in [
        ("mail", "ines@leafclock.example", {}),
        ("hook", "https://hook.leafclock.example/a", {}),
        ("hook", "http://192.168.1.5:8080/", {"private_ok": True}),
        ("apprise", "ntfys://garden", {}),
    ]:
        check_address(Channel(uuid4(), uuid4(), kind, address, hook.new_secret(), **more))  # type: ignore[arg-type]


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_apprise_hands_on_what_it_may(httpserver: HTTPServer) -> None:
    """Against a server of ours that speaks ntfy's way: a POST with the text."""
    pytest.importorskip("apprise")
    httpserver.expect_request("/").respond_with_json({})
    at = f"ntfy://{httpserver.host}:{httpserver.port}/garden"
    channel = Channel(uuid4(), uuid4(), "apprise", at, private_ok=True)
    message = Message(uuid4(), channel, a_notice())
    assert many.send_by_apprise(message) == Sent()
    assert message.notice.text in httpserver.log[0][0].get_data(as_text=True)
    httpserver.clear()
    assert isinstance(many.send_by_apprise(message), Retry)
    refused = replace(
        message, channel=replace(channel, address=httpserver.url_for("/").replace("http", "json"))
    )
    assert isinstance(many.send_by_apprise(refused), Refused)


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_a_stored_address_with_several_targets_tells_nobody_twice(httpserver: HTTPServer) -> None:
    """Of two topics one is refused: the other has had it, so the message is over, and the trouble is told."""
    pytest.importorskip("apprise")

    def answer(request: Request) -> Response:
        return Response("{}", 500 if request.get_json()["topic"] == "two" else 200)

    httpserver.expect_request("/").respond_with_handler(answer)
    at = f"ntfy://{httpserver.host}:{httpserver.port}/one/two"
    channel = Channel(uuid4(), uuid4(), "apprise", at, private_ok=True)
    result = many.send_by_apprise(Message(uuid4(), channel, a_notice()))
    assert isinstance(result, Sent)
    assert result.trouble.startswith("only 1 of the address's 2 targets took it; right would be each")
    assert [request.get_json()["topic"] for request, _ in httpserver.log] == ["one", "two"]
    httpserver.clear()
    assert isinstance(many.send_by_apprise(Message(uuid4(), channel, a_notice())), Retry)


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
@pytest.mark.parametrize(
    ("address", "line"),
    [
        ("ntfy://push.leafclock.example/one/two", "the address has 2 targets"),
        ("rocket://u:p@chat.leafclock.example/#a/#b/@c", "the address has 3 targets"),
        ("tgram://123456789:abcdefghijk/12315544/99999/", "the address has 2 targets"),
        ("tgram://nobody", "Apprise cannot read the address"),
        ("ntfy://127.0.0.1:9/t?verify=no", "on this machine or its network"),
        ("ntfys://[::1]:9/t", "on this machine or its network"),
        ("ntfy://localhost/t", "on this machine or its network"),
        ("gotifys://192.168.1.5/abcdefghijklmno", "on this machine or its network"),
        ("mailtos://u:p@gmail.com?smtp=10.0.0.1", "on this machine or its network"),
    ],
)
def test_apprise_addresses_are_for_one_target_out_in_the_world(address: str, line: str) -> None:
    pytest.importorskip("apprise")
    with pytest.raises(ValueError, match=line):
        check_address(Channel(uuid4(), uuid4(), "apprise", address))
    allowed = Channel(uuid4(), uuid4(), "apprise", address, private_ok=True)
    if "network" in line:
        check_address(allowed)


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_apprise_reaches_this_machine_only_if_allowed(httpserver: HTTPServer) -> None:
    """Also an address that was added before this was asked: its host is looked up when a message is sent."""
    pytest.importorskip("apprise")
    at = f"ntfy://localhost:{httpserver.port}/garden"
    channel = Channel(uuid4(), uuid4(), "apprise", at)
    assert "allow" in why(many.send_by_apprise(Message(uuid4(), channel, a_notice())), Refused)
    assert httpserver.log == []
