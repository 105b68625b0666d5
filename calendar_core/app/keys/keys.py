"""Who may enter the pages: keys of three roles, and the owner's password."""

from __future__ import annotations

import hashlib
import secrets
from datetime import timedelta
from typing import TYPE_CHECKING
from uuid import uuid4

from calendar_core.app.shell.errors import Refusal
from calendar_core.knowledge.words import ROLES
from calendar_core.storage import keys
from calendar_core.storage.keys import AccessKey

if TYPE_CHECKING:
    from datetime import datetime
    from uuid import UUID

    from calendar_core.knowledge.words import Role
    from calendar_core.storage.engine import Store

KEY_BYTES = 24  # 192 bits, as of a calendar's address
SHORTEST_PASSWORD, LONGEST_PASSWORD = 12, 200
"""Signs. Source: NIST SP 800-63B asks for 8 where a second factor is asked as well, and for 15 where not (from memory); between
them an estimate for a garden behind a limit on wrong tries. More than the longest would only cost time."""
LONGEST_LABEL = 60  # signs (estimate: it names a person or a device)
PASSWORD = "password"  # noqa: S105 - what the owner's is listed as
STAYS = timedelta(
    days=90
)  # so long one who entered stays (estimate: a season; a lost phone's key is taken back sooner)


def hash_of(secret: str) -> str:
    """Return what is stored of a key: of 192 random bits a plain hash tells nothing."""
    return hashlib.sha256(secret.encode()).hexdigest()


def make_key(store: Store, garden_id: UUID, role: str, label: str, now: datetime) -> str:
    """Make a key for somebody, and return it: it is shown this once. Raises Refusal for an unknown role or a label that is taken."""
    known: Role | None = next((listed for listed in ROLES if listed == role.lower().strip()), None)
    if known is None:
        raise Refusal(f"role '{role}'; right would be one of {', '.join(ROLES)}")
    label = " ".join(label.split())
    if not label or not label.isprintable() or len(label) > LONGEST_LABEL:
        raise Refusal(
            f"a key wants a name of up to {LONGEST_LABEL} signs; right would be whom or what it is for, such as 'my phone'"
        )
    if label.lower() == PASSWORD:
        raise Refusal(f"'{label}' is what the owner's password is listed as; right would be another name")
    secret = secrets.token_urlsafe(KEY_BYTES)
    _add(store, garden_id, AccessKey(uuid4(), known, label, "key", hash_of(secret), now))
    return secret


def _add(store: Store, garden_id: UUID, key: AccessKey) -> None:
    with store.begin() as connection:
        if any(other.label.lower() == key.label.lower() for other in keys.list_keys(connection, garden_id)):
            raise Refusal(f"there is a key '{key.label}' already; right would be another name")
        keys.add_key(connection, garden_id, key)


def set_password(store: Store, garden_id: UUID, password: str, now: datetime) -> None:
    """Set the owner's password in place of an earlier one, with which nobody stays. Raises Refusal for one too short or too long."""
    from argon2 import PasswordHasher

    if not SHORTEST_PASSWORD <= len(password) <= LONGEST_PASSWORD:
        raise Refusal(
            f"a password of {len(password)} signs; right would be {SHORTEST_PASSWORD} to {LONGEST_PASSWORD}, such as four words"
        )
    made = AccessKey(uuid4(), "owner", PASSWORD, "password", PasswordHasher().hash(password), now)
    with store.begin() as connection:
        for old in keys.list_keys(connection, garden_id):
            if old.kind == "password":
                keys.remove_key(connection, old.id)
        keys.add_key(connection, garden_id, made)


def list_keys(store: Store, garden_id: UUID) -> tuple[AccessKey, ...]:
    """Return the keys of a garden."""
    with store.read() as connection:
        return keys.list_keys(connection, garden_id)


def take_back(store: Store, garden_id: UUID, label: str) -> AccessKey:
    """Take a key back, and let go whoever entered with it. Raises Refusal where there is none of that name."""
    with store.begin() as connection:
        found = [
            key for key in keys.list_keys(connection, garden_id) if key.label.lower() == label.lower().strip()
        ]
        if len(found) != 1:
            raise Refusal(f"no key '{label}'; right would be a name as listed by: leafclock key list")
        keys.remove_key(connection, found[0].id)
    return found[0]


def key_shown(store: Store, garden_id: UUID, secret: str) -> AccessKey | None:
    """Return the key that somebody shows, None where it opens nothing. It is found at once, so that it may be tried often."""
    hashed = hash_of(secret)
    known = (key for key in list_keys(store, garden_id) if key.kind == "key")
    return next((key for key in known if secrets.compare_digest(key.hash, hashed)), None)


def password_known(store: Store, garden_id: UUID, password: str) -> AccessKey | None:
    """Return what the owner's password opens, None for a wrong one. It takes time and 64 MB: whoever asks must be counted."""
    known = next((key for key in list_keys(store, garden_id) if key.kind == "password"), None)
    if known is None or len(password) > LONGEST_PASSWORD:
        return None
    from argon2 import PasswordHasher
    from argon2.exceptions import Argon2Error

    try:
        PasswordHasher().verify(known.hash, password)
    except Argon2Error:
        return None
    return known


def enter(store: Store, key: AccessKey, now: datetime) -> str:
    """Let in whoever has shown a key, and return the secret by which they are known from now on."""
    secret = secrets.token_urlsafe(KEY_BYTES)
    with store.begin() as connection:
        keys.begin_visit(connection, hash_of(secret), key.id, now, now + STAYS)
    return secret


def leave(store: Store, secret: str) -> None:
    """Let somebody go."""
    with store.begin() as connection:
        keys.end_visit(connection, hash_of(secret))


def role_of(store: Store, garden_id: UUID, secret: str, now: datetime) -> Role | None:
    """Return what one who has entered may do, None for a stranger."""
    with store.read() as connection:
        return keys.role_of_visit(connection, garden_id, hash_of(secret), now)
