"""Web Push: a notice to the phone or desk whose browser has subscribed.

Sources: RFC 8030 (what a push service is asked), RFC 8188 and 8291 (locking a message), RFC 8292 (who sends it).
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from datetime import timedelta
from http import HTTPStatus
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from alerts.delivery.asking import Answer, Asking
from alerts.delivery.line import CONNECT_S, DEADLINE_S
from alerts.delivery.subscription import keys_of, octets, text_of
from alerts.notices import Gone, Refused, Result, Retry, Sent
from alerts.policy.cap import DANGER_SEVERITIES

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

    from alerts.delivery.subscription import Keys
    from alerts.notices import Message, Notice

LARGEST = 3993
"""Octets that every push service takes before they are locked (RFC 8291, section 4)."""
SIZES = (LARGEST, 1500, 500)
"""What is tried in turn where one says that it is too large (estimate: a screen of text, and its first sentences)."""
SIGNED_FOR = timedelta(hours=12)
"""How long a signature holds: RFC 8292 allows a day, and half of it bears a clock that is off."""
NOWHERE = "https://localhost"
"""The contact of one who has none: services take it, but for Apple's (web-push-libs/web-push, issue 947)."""
_GONE = frozenset({HTTPStatus.NOT_FOUND, HTTPStatus.GONE})
_NOT_TRUSTED = frozenset({HTTPStatus.UNAUTHORIZED, HTTPStatus.FORBIDDEN})
_SENTENCE_END = re.compile(r"[.!?](?=\s)|(?<=\S)(?=\n)")
_WORD_END = re.compile(r"(?<=\S)(?=\s)")


@dataclass(frozen=True, slots=True)
class PushSender:
    """Who sends: the private key that subscriptions are bound to, and a contact as mailto: or https:, "" for none."""

    private_key: str = field(repr=False)
    contact: str = ""


def new_key() -> str:
    """Return a fresh private key, as base64url of its 32 octets."""
    from cryptography.hazmat.primitives.asymmetric import ec  # noqa: PLC0415 - as in subscription

    number = ec.generate_private_key(ec.SECP256R1()).private_numbers().private_value
    return text_of(number.to_bytes(32, "big"))


def public_key(private_key: str) -> str:
    """Return the public key that a browser subscribes with, as base64url of its point."""
    return text_of(_point(_private(private_key)))


def send_push(
    sender: PushSender,
    message: Message,
    now: datetime,
    *,
    timeout_s: float = CONNECT_S,
    deadline_s: float = DEADLINE_S,
) -> Result:
    """Hand a message to the push service of its channel.

    404 and 410 say for sure that the subscription is over (RFC 8030, section 7.3, and common practice), so that is
    believed at once; the service is known by its certificate. A message that is too large is made shorter.
    """
    channel, notice = message.channel, message.notice
    try:
        keys = keys_of(channel.secret)
    except ValueError as error:
        return Refused(str(error))
    headers = _headers(sender, keys, channel.address, notice, now)
    said = ""
    for size in SIZES:
        body = locked(payload(notice, size), keys)
        ask = Asking(
            "POST", channel.address, headers, body, channel.private_ok, timeout_s, deadline_s / len(SIZES)
        )
        answer = ask.answered(now)
        if not isinstance(answer, Answer):
            return answer
        if answer.status != HTTPStatus.REQUEST_ENTITY_TOO_LARGE:
            return _result(answer, has_contact=bool(sender.contact))
        said = answer.said
    return Refused(said, text_only=True)


def payload(notice: Notice, most: int = LARGEST) -> bytes:
    """Return what the page's worker shows, in at most so many octets: its text ends with a sentence."""
    told = {
        "title": _cut(" ".join(notice.subject.split()), most // 3),
        "body": "",
        "url": "/",
        "tag": str(notice.warning_id),
        "revision": notice.revision,
        "withdrawn": notice.action == "withdraw",
    }
    return _json(told | {"body": _cut(notice.text, most - len(_json(told)))})


def locked(text: bytes, keys: Keys) -> bytes:
    """Return a message as only the browser can read it."""
    import http_ece  # noqa: PLC0415 - as in subscription
    from cryptography.hazmat.primitives.asymmetric import ec  # noqa: PLC0415

    once = ec.generate_private_key(ec.SECP256R1())
    made: bytes = http_ece.encrypt(text, private_key=once, dh=keys.public, auth_secret=keys.auth)
    return made


def _headers(sender: PushSender, keys: Keys, address: str, notice: Notice, now: datetime) -> dict[str, str]:
    urgent = notice.severity in DANGER_SEVERITIES and notice.action != "withdraw"
    return {
        "Content-Type": "application/octet-stream",
        "Content-Encoding": "aes128gcm",
        "TTL": str(max(0, int((notice.expires - now).total_seconds()))),
        "Urgency": "high" if urgent else "normal",
        "Topic": text_of(notice.warning_id.bytes),  # what still waits there of the warning is replaced
        "Authorization": _signed(sender, keys, address, now),
    }


def _signed(sender: PushSender, keys: Keys, address: str, now: datetime) -> str:
    from py_vapid import Vapid02  # noqa: PLC0415 - as in subscription

    url = urlsplit(address)
    claims = {
        "aud": f"{url.scheme}://{url.netloc}",
        "exp": int((now + SIGNED_FOR).timestamp()),
        "sub": sender.contact or (keys.site if keys.site.startswith("https://") else NOWHERE),
    }
    vapid = Vapid02(
        _private(sender.private_key), {"no-strict": True}
    )  # what a contact may be is checked by ourselves
    return str(vapid.sign(claims)["Authorization"])


def _result(answer: Answer, *, has_contact: bool) -> Result:
    if answer.is_taken:
        return Sent()
    if answer.status in _GONE:
        return Gone(f"{answer.said}: its browser has let go of the subscription")
    if answer.status in _NOT_TRUSTED:
        why = (
            answer.said if has_contact else f"{answer.said}: it may want a contact in LEAFCLOCK_PUSH_CONTACT"
        )
        return Refused(why)
    if answer.status == HTTPStatus.BAD_REQUEST:
        return Refused(answer.said, text_only=True)
    return Retry(answer.said, answer.after_s)


def _private(private_key: str) -> EllipticCurvePrivateKey:
    from cryptography.hazmat.primitives.asymmetric import ec  # noqa: PLC0415 - as in subscription

    return ec.derive_private_key(int.from_bytes(octets(private_key), "big"), ec.SECP256R1())


def _point(private: EllipticCurvePrivateKey) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat  # noqa: PLC0415

    return private.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)


def _cut(text: str, room: int) -> str:
    """Return the beginning of a text that takes at most so many octets in JSON, up to a sentence or else a word."""
    if _size(text) <= room:
        return text
    for ends in (_SENTENCE_END, _WORD_END):
        for end in reversed(list(_ends(ends, text))):
            if _size(begun := f"{text[:end]} …") <= room:
                return begun
    return ""


def _ends(pattern: re.Pattern[str], text: str) -> Iterator[int]:
    return (found.end() for found in pattern.finditer(text))


def _size(text: str) -> int:
    return len(_json(text)) - 2  # its quotation marks


def _json(told: object) -> bytes:
    return json.dumps(told, ensure_ascii=False, separators=(",", ":")).encode()
