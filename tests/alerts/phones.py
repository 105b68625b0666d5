"""A push service of our own, and the phones behind it: they read a message by RFC 8188 and 8291 as those say it.

Nothing here uses what the program locks and signs messages with; the examples of the standards hold it (test_push.py).
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from werkzeug import Request, Response

if TYPE_CHECKING:
    from pytest_httpserver import HTTPServer


def b64(octets: bytes) -> str:
    return base64.urlsafe_b64encode(octets).decode().rstrip("=")


def unb64(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def point(key: ec.EllipticCurvePublicKey) -> bytes:
    return key.public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)


def hkdf(salt: bytes, secret: bytes, info: bytes, length: int) -> bytes:
    """RFC 5869, for at most one block."""
    key = hmac.new(salt, secret, hashlib.sha256).digest()
    return hmac.new(key, info + b"\x01", hashlib.sha256).digest()[:length]


@dataclass
class Phone:
    """A browser that has subscribed."""

    key: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))
    auth: bytes = b"sixteen octets.."

    @property
    def secret(self) -> str:
        return json.dumps({"p256dh": b64(point(self.key.public_key())), "auth": b64(self.auth)})

    def read(self, body: bytes) -> bytes:
        """Unlock a message of one record. RFC 8188, section 2; RFC 8291, section 3.4."""
        salt, record_size, id_length = body[:16], int.from_bytes(body[16:20], "big"), body[20]
        theirs, record = body[21 : 21 + id_length], body[21 + id_length :]
        assert len(record) <= record_size
        shared = self.key.exchange(
            ec.ECDH(), ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), theirs)
        )
        info = b"WebPush: info\x00" + point(self.key.public_key()) + theirs
        secret = hkdf(self.auth, shared, info, 32)
        key = hkdf(salt, secret, b"Content-Encoding: aes128gcm\x00", 16)
        nonce = hkdf(salt, secret, b"Content-Encoding: nonce\x00", 12)
        padded = AESGCM(key).decrypt(nonce, record, None).rstrip(b"\x00")
        assert padded.endswith(b"\x02")  # the last record
        return padded[:-1]


def claims_of(authorization: str) -> tuple[dict[str, Any], str]:
    """Return what a sender claims, and its public key, once its signature holds. RFC 8292, sections 2 and 3; RFC 7515."""
    scheme, _, rest = authorization.partition(" ")
    assert scheme == "vapid"
    parts = dict(part.strip().split("=", 1) for part in rest.split(","))
    head, claims, signature = parts["t"].split(".")
    r, s = (int.from_bytes(half, "big") for half in (unb64(signature)[:32], unb64(signature)[32:]))
    key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), unb64(parts["k"]))
    key.verify(encode_dss_signature(r, s), f"{head}.{claims}".encode(), ec.ECDSA(SHA256()))
    assert json.loads(unb64(head)) == {"typ": "JWT", "alg": "ES256"}
    return json.loads(unb64(claims)), parts["k"]


@dataclass(frozen=True)
class Pushed:
    """A message that a push service has taken, as its phone read it."""

    shown: dict[str, Any]
    headers: dict[str, str]
    claims: dict[str, Any]
    sender: str


@dataclass
class PushService:
    """Takes messages for its phones by RFC 8030. ``answers`` are statuses in turn, then 201."""

    server: HTTPServer
    answers: list[int] = field(default_factory=list)
    taken: list[Pushed] = field(default_factory=list)
    sizes: list[int] = field(default_factory=list)

    def subscribe(self, phone: Phone, path: str = "/push/1") -> str:
        """Return the endpoint of a phone."""

        def take(request: Request) -> Response:
            self.sizes.append(len(request.data))
            status = self.answers.pop(0) if self.answers else 201
            if status == 201:
                assert request.headers["Content-Encoding"] == "aes128gcm"
                claims, sender = claims_of(request.headers["Authorization"])
                shown = json.loads(phone.read(request.data))
                self.taken.append(Pushed(shown, dict(request.headers), claims, sender))
            return Response(status=status, headers={"Retry-After": "120"} if status == 429 else {})

        self.server.expect_request(path, method="POST").respond_with_handler(take)
        return self.server.url_for(path)
