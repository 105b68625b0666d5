"""What a browser hands over when it subscribes to messages: where to send them, and how to lock them.

Source: Push API (W3C), ``PushSubscription.toJSON()``; RFC 8291, section 2 (the keys).
"""

from __future__ import annotations

import base64
import binascii
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

if TYPE_CHECKING:
    from collections.abc import Mapping

AUTH_OCTETS = 16
LONGEST = 2000  # signs of an endpoint (estimate: those in use have up to 500)


@dataclass(frozen=True, slots=True)
class Keys:
    """The browser's public key and the secret it shares with the sender; ``site`` is where it subscribed."""

    public: bytes
    auth: bytes
    site: str = ""


def keys_of(secret: str) -> Keys:
    """Return what a channel keeps of a subscription's keys. Raises ValueError in one line, without repeating them."""
    try:
        told = json.loads(secret)
        public, auth, site = octets(told["p256dh"]), octets(told["auth"]), str(told.get("site", ""))
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        raise ValueError("the subscription's keys cannot be read; right would be p256dh and auth") from error
    if len(auth) != AUTH_OCTETS:
        raise ValueError(
            f"the subscription's auth has {len(auth)} octets; right would be {AUTH_OCTETS} in base64url"
        )
    _check_point(public)
    return Keys(public, auth, site)


def kept(subscription: Mapping[str, Any], site: str) -> tuple[str, str]:
    """Return address and secret of the channel that a browser's subscription makes. Raises ValueError in one line."""
    match subscription:
        case {"endpoint": str(endpoint), "keys": {"p256dh": str(public), "auth": str(auth)}}:
            secret = json.dumps({"p256dh": public, "auth": auth, "site": site})
        case _:
            raise ValueError(
                "the subscription cannot be read; right would be an endpoint, and keys p256dh and auth"
            )
    keys_of(secret)
    return endpoint, secret


def check_endpoint(address: str, *, private_ok: bool) -> None:
    """Refuse what no push service can be at. Raises ValueError in one line, without the address."""
    url = urlsplit(address)
    schemes = {"https", "http"} if private_ok else {"https"}
    if url.scheme not in schemes or not url.hostname or len(address) > LONGEST:
        raise ValueError(
            "the subscription's endpoint is no address of a push service; right would be https://HOST/..."
        )
    if url.username or url.password:
        raise ValueError("the subscription's endpoint holds a user or password; right would be none")


def octets(text: object) -> bytes:
    """Return the octets of base64url, with or without padding. Raises ValueError."""
    if not isinstance(text, str):
        raise TypeError("no text")
    bare = text.rstrip("=")
    try:
        return base64.b64decode(bare + "=" * (-len(bare) % 4), altchars=b"-_", validate=True)
    except binascii.Error as error:
        raise ValueError("no base64url") from error


def text_of(octets: bytes) -> str:
    """Return octets as base64url without padding (RFC 7515, section 2)."""
    return base64.urlsafe_b64encode(octets).rstrip(b"=").decode()


def _check_point(public: bytes) -> None:
    from cryptography.hazmat.primitives.asymmetric import ec  # noqa: PLC0415 - 50 ms that others need not wait

    try:
        ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), public)
    except ValueError as error:
        raise ValueError(
            "the subscription's p256dh is no public key; right would be a point of P-256 in base64url"
        ) from error
