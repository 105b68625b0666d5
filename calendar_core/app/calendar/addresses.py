"""Secret addresses for subscribers: made, listed and revoked; the secret itself is told once and never stored."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urlsplit
from uuid import uuid4

from calendar_core.app.plan.line_names import LENGTH
from calendar_core.app.shell.errors import Refusal
from calendar_core.storage import calendar_addresses
from calendar_core.storage.calendar_addresses import CalendarAddress

if TYPE_CHECKING:
    from datetime import datetime

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.events import CalendarOf
    from calendar_core.storage.engine import Store

SECRET_BYTES = 24  # 192 bits; the W3C's "Good Practices for Capability URLs" asks for 120
LONGEST_LABEL = 60  # signs (estimate: it names a device)
MOST = 100  # live addresses of a garden (estimate: every phone of a club)


@dataclass(frozen=True)
class MadeAddress:
    """A new address with its secret, which nobody can be told again."""

    address: CalendarAddress
    secret: str

    @property
    def path(self) -> str:
        """Where the service answers for it."""
        return f"/calendar/{self.secret}.ics"

    def links(self, service: str) -> tuple[str, str]:
        """Return the address at a service such as https://HOST, plainly and as programs open it to subscribe."""
        plain = service.rstrip("/") + self.path
        return plain, f"webcal{plain.removeprefix(urlsplit(plain).scheme)}"


def hash_of(secret: str) -> str:
    """Return what of a secret is stored. It has 192 bits of its own, so that one plain hash keeps it."""
    return hashlib.sha256(secret.encode()).hexdigest()


def make_address(session: Session, of: CalendarOf, label: str = "") -> MadeAddress:
    """Make and store a new address of a calendar; ``label`` says whose it is. Raises Refusal."""
    label = " ".join(label.split())
    if len(label) > LONGEST_LABEL or not label.isprintable():
        raise Refusal(
            f"the label is not a short line; right would be up to {LONGEST_LABEL} signs, such as phone"
        )
    if of.kind == "tree" and of.tree_id not in {tree.id for tree in session.trees}:
        raise Refusal(
            "the calendar of a tree is of none in this garden; right would be with --tree and its label"
        )
    secret = secrets.token_urlsafe(SECRET_BYTES)
    made = CalendarAddress(
        uuid4(), session.garden.id, of.kind, of.tree_id, label, hash_of(secret), session.clock.now
    )
    with session.store.begin() as connection:
        known = calendar_addresses.list_addresses(connection, session.garden.id)
        if sum(one.revoked_at is None for one in known) >= MOST:
            raise Refusal(f"the garden has {MOST} addresses; right would be to revoke one that nobody uses")
        calendar_addresses.add_address(connection, made)
    return MadeAddress(made, secret)


def addresses_of(session: Session) -> tuple[CalendarAddress, ...]:
    """Return the garden's addresses, revoked ones too, the oldest first."""
    with session.store.read() as connection:
        return calendar_addresses.list_addresses(connection, session.garden.id)


def revoke_address(session: Session, name: str) -> CalendarAddress:
    """Revoke an address by its short name, or by its label where no other live one has it. Raises Refusal."""
    wanted = " ".join(name.split()).lower()
    found = [one for one in addresses_of(session) if _is_named(one, wanted)]
    found = [one for one in found if one.revoked_at is None] or found
    if len(found) != 1:
        raise Refusal(f"no address '{name}'; right would be a name as printed by: leafclock address list")
    with session.store.begin() as connection:
        calendar_addresses.revoke_address(connection, found[0].id, session.clock.now)
    return found[0]


def _is_named(address: CalendarAddress, wanted: str) -> bool:
    by_id = len(wanted) >= LENGTH and address.id.hex.startswith(wanted)
    return by_id or (bool(wanted) and address.label.lower() == wanted)


def note_use(store: Store, address: CalendarAddress, now: datetime) -> None:
    """Note that an address is used, at most once a day."""
    if address.last_used is None or now - address.last_used >= calendar_addresses.USE_NOTED:
        with store.begin() as connection:
            calendar_addresses.note_use(connection, address.id, now)
