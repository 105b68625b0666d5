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
from werkzeug import Response

from alerts.delivery import hook, line, many
from alerts.delivery.carrier import Carrier, check_address
from alerts.delivery.mail import MailServer, send_mail, written
from alerts.notices import Channel, Message, Permanent, Result, Retry, Sent
from tests.alerts.conftest import NOW, MailBox, a_notice, free_port

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from pytest_httpserver import HTTPServer

    Make = Callable[..., Message]


def a_mail(address: str = "ines@leafclock.example", **more: Any) -> Message:
    return Message(uuid4(), Channel(uuid4(), uuid4(), "mail", address), a_notice(), **more)


def why(result: Result, kind: type[Retry | Permanent]) -> str:
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
@pytest.mark.parametrize(("answer", "kind"), [("550 no such user", Permanent), ("451 come later", Retry)])
def test_replies_are_permanent_or_not(
    mail_server: MailServer, mail_box: MailBox, command: str, answer: str, kind: Any
) -> None:
    """RFC 5321, section 4.2.1: 4yz may be tried again, 5yz not."""
    mail_box.answers[command] = answer
    assert why(send_mail(mail_server, a_mail(), NOW), kind) == answer


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
    [(200, Sent), (204, Sent), (404, Permanent), (410, Permanent), (400, Retry), (429, Retry), (500, Retry)],
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
    assert "allow" in why(hook.send_hook(message, NOW), Permanent)
    assert httpserver.log == []


@pytest.mark.parametrize(
    "address",
    ["127.0.0.1", "10.1.2.3", "192.168.1.1", "169.254.169.254", "100.64.0.1", "0.0.0.0", "224.0.0.1",  # noqa: S104
     "::1", "fe80::1%eth0", "fc00::1", "::ffff:192.168.1.1"],
)  # fmt: skip
def test_addresses_that_are_not_public(address: str) -> None:
    """IANA special-purpose address registries (RFC 6890)."""
    assert not line.is_public(address)


def test_an_unknown_host_and_a_closed_port(hook_message: Make) -> None:
    message = hook_message()
    for address in ("http://hook.invalid/", f"http://127.0.0.1:{free_port()}/"):
        result = hook.send_hook(replace(message, channel=replace(message.channel, address=address)), NOW)
        assert isinstance(result, Retry)
        assert not result.unsure


def test_a_heartbeat_is_one_request(httpserver: HTTPServer) -> None:
    httpserver.expect_request("/beat", method="GET").respond_with_data("")
    assert hook.beat(httpserver.url_for("/beat"), NOW, private_ok=True) == Sent()


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
    channel = Channel(uuid4(), uuid4(), "apprise", at)
    message = Message(uuid4(), channel, a_notice())
    assert many.send_by_apprise(message) == Sent()
    assert message.notice.text in httpserver.log[0][0].get_data(as_text=True)
    httpserver.clear()
    assert isinstance(many.send_by_apprise(message), Retry)
    refused = replace(
        message, channel=replace(channel, address=httpserver.url_for("/").replace("http", "json"))
    )
    assert isinstance(many.send_by_apprise(refused), Permanent)
