"""Web hooks, signed as Standard Webhooks 1.0.0 says.

Source: github.com/standard-webhooks/standard-webhooks, spec/standard-webhooks.md.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import hmac
import http.client
import json
import secrets
import ssl
from contextlib import suppress
from typing import TYPE_CHECKING
from urllib.parse import SplitResult, urlsplit

from alerts.delivery.line import CONNECT_S, DEADLINE_S, PrivateAddressError, connected, ends_by, said_of
from alerts.notices import Refused, Result, Retry, Sent, as_data, one_line
from calendar_core.weather.sources.answers import retry_after_s

if TYPE_CHECKING:
    import socket
    from collections.abc import Mapping
    from datetime import datetime

    from alerts.notices import Message

PREFIX = "whsec_"
SECRET_BYTES = 32  # the standard asks for 24 to 64
_GONE = frozenset({http.HTTPStatus.NOT_FOUND, http.HTTPStatus.GONE})


def new_secret() -> str:
    """Return a fresh secret to be shared with the receiver of one channel."""
    return PREFIX + base64.b64encode(secrets.token_bytes(SECRET_BYTES)).decode()


def signature(secret: str, message_id: str, timestamp_s: int, body: bytes) -> str:
    """Return the value of the header webhook-signature. Raises ValueError for a secret that is none."""
    try:
        key = base64.b64decode(secret.removeprefix(PREFIX), validate=True)
    except binascii.Error as error:
        raise ValueError(f"the secret is not base64 after {PREFIX}") from error
    signed = f"{message_id}.{timestamp_s}.".encode() + body
    return "v1," + base64.b64encode(hmac.new(key, signed, hashlib.sha256).digest()).decode()


def body_of(message: Message) -> bytes:
    """Return the JSON of a message, the same bytes at every try."""
    notice = message.notice
    told = {"type": f"warning.{notice.action}", "data": as_data(notice)}
    return json.dumps(told, ensure_ascii=False, sort_keys=True).encode()


def send_hook(
    message: Message, now: datetime, *, timeout_s: float = CONNECT_S, deadline_s: float = DEADLINE_S
) -> Result:
    """Post a message to its channel's address.

    Only a 2xx answer counts as taken; a redirect is not followed, since it could lead anywhere. 404 and 410
    say that there is no receiver any more, if they are said for long.
    """
    channel, body = message.channel, body_of(message)
    timestamp_s = int(now.timestamp())
    headers = {
        "Content-Type": "application/json",
        "webhook-id": str(message.id),
        "webhook-timestamp": str(timestamp_s),
        "webhook-signature": signature(channel.secret, str(message.id), timestamp_s, body),
    }
    asking = _Asking("POST", channel.address, headers, body)
    return asking.answered(now, timeout_s, deadline_s, private_ok=channel.private_ok)


def beat(
    address: str,
    now: datetime,
    *,
    private_ok: bool = False,
    timeout_s: float = CONNECT_S,
    deadline_s: float = DEADLINE_S,
) -> Result:
    """Ask for an address that notices when this is not done any more, so that a dead process is noticed."""
    return _Asking("GET", address, {}, b"").answered(now, timeout_s, deadline_s, private_ok=private_ok)


class _Asking:
    """One HTTP request on a line of its own: no redirects, no proxy, no second look-up of the name."""

    def __init__(self, method: str, address: str, headers: Mapping[str, str], body: bytes) -> None:
        self.method, self.url, self.headers, self.body = method, urlsplit(address), dict(headers), body
        self.line: socket.socket | None = None

    def answered(self, now: datetime, timeout_s: float, deadline_s: float, *, private_ok: bool) -> Result:
        host = self.url.hostname or ""
        with ends_by(deadline_s, lambda: self.line):
            try:
                self.line = _connected(self.url, timeout_s, deadline_s, private_ok=private_ok)
            except PrivateAddressError as error:
                return Refused(str(error))
            except (OSError, ValueError) as error:  # no name, no line, or a port that is none
                return Retry(f"{host}: {said_of(error)}")
            try:
                return self._exchange(host, now)
            except (OSError, http.client.HTTPException) as error:
                return Retry(f"{host}: {said_of(error)}", unsure=True)
            finally:
                with suppress(OSError):
                    self.line.close()

    def _exchange(self, host: str, now: datetime) -> Result:
        connection = http.client.HTTPConnection(host, self.url.port or _port(self.url))
        connection.sock = self.line
        path = (self.url.path or "/") + (f"?{self.url.query}" if self.url.query else "")
        connection.request(self.method, path, self.body, self.headers)
        response = connection.getresponse()
        said = one_line(f"{host} answers {response.status} {response.reason}")
        if 200 <= response.status < 300:
            return Sent()
        if response.status in _GONE:
            return Refused(said)
        return Retry(said, retry_after_s(dict(response.headers.items()), now) or 0.0)


def _port(url: SplitResult) -> int:
    return 443 if url.scheme == "https" else 80


def _connected(url: SplitResult, timeout_s: float, deadline_s: float, *, private_ok: bool) -> socket.socket:
    host, port = url.hostname or "", url.port or _port(url)
    line = connected(host, port, timeout_s, deadline_s, private_ok=private_ok)
    if url.scheme == "https":
        return ssl.create_default_context().wrap_socket(line, server_hostname=host)
    return line
