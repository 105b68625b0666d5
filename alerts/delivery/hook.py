"""Web hooks, signed as Standard Webhooks 1.0.0 says.

Source: github.com/standard-webhooks/standard-webhooks, spec/standard-webhooks.md.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import hmac
import json
import secrets
from http import HTTPStatus
from typing import TYPE_CHECKING

from alerts.delivery.asking import Answer, Asking
from alerts.delivery.line import CONNECT_S, DEADLINE_S
from alerts.notices import Refused, Result, Retry, Sent, as_data

if TYPE_CHECKING:
    from datetime import datetime

    from alerts.notices import Message

PREFIX = "whsec_"
SECRET_BYTES = 32  # the standard asks for 24 to 64
_GONE = frozenset({HTTPStatus.NOT_FOUND, HTTPStatus.GONE})


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

    Only a 2xx answer counts as taken. 404 and 410 say that there is no receiver any more, if they are said for long.
    """
    channel, body = message.channel, body_of(message)
    timestamp_s = int(now.timestamp())
    headers = {
        "Content-Type": "application/json",
        "webhook-id": str(message.id),
        "webhook-timestamp": str(timestamp_s),
        "webhook-signature": signature(channel.secret, str(message.id), timestamp_s, body),
    }
    ask = Asking("POST", channel.address, headers, body, channel.private_ok, timeout_s, deadline_s)
    return _result(ask.answered(now))


def beat(
    address: str,
    now: datetime,
    *,
    private_ok: bool = False,
    timeout_s: float = CONNECT_S,
    deadline_s: float = DEADLINE_S,
) -> Result:
    """Ask for an address that notices when this is not done any more, so that a dead process is noticed."""
    ask = Asking("GET", address, private_ok=private_ok, timeout_s=timeout_s, deadline_s=deadline_s)
    return _result(ask.answered(now))


def _result(answer: Answer | Refused | Retry) -> Result:
    if not isinstance(answer, Answer):
        return answer
    if answer.is_taken:
        return Sent()
    return Refused(answer.said) if answer.status in _GONE else Retry(answer.said, answer.after_s)
