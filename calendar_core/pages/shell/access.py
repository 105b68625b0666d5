"""Who asks: what each role may do, and the proof that a form was shown by us."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from fastapi import Depends, Request

from calendar_core.app.shell.errors import Refusal
from calendar_core.knowledge.words import ROLES, Role
from calendar_core.pages.shell.site import Site

if TYPE_CHECKING:
    from collections.abc import Sequence
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Garden

COOKIE = "leafclock"
PASSED_ON = ("forwarded", "via", "x-forwarded-for", "x-forwarded-host", "x-forwarded-proto", "x-real-ip")
"""What those who pass questions on add to them (RFC 7239, RFC 9110, and common practice)."""
TOKEN = "token"  # noqa: S105 - the name of the field that carries it


class NoEntryError(Exception):
    """Somebody asks for what needs a key, or a better one."""

    def __init__(self, needed: Role, role: Role | None) -> None:
        super().__init__(needed)
        self.needed, self.role = needed, role


class NoGardenError(Exception):
    """There is no garden yet."""


class ForgedError(Exception):
    """A form came without the mark that we give to those who were shown it."""


@dataclass
class Visit:
    """One question to the site: who asks, and for which garden."""

    request: Request
    site: Site
    role: Role
    secret: str

    @property
    def token(self) -> str:
        """What a form must bring back: known to those who were shown it, told by nothing that others can read."""
        return hmac.new(self.secret.encode(), b"form", hashlib.sha256).hexdigest()

    @property
    def session(self) -> Session:
        """The garden today, shared by all who only read. Raises NoGardenError."""
        found = self.site.session()
        if found is None:
            raise NoGardenError
        return found

    @property
    def garden(self) -> Garden:
        """The garden. Raises NoGardenError."""
        found = self.site.garden()
        if found is None:
            raise NoGardenError
        return found

    def fresh(self) -> Session:
        """Return a session for writing."""
        return self.site.fresh(self.garden)

    def of_trees(self, tree_ids: Sequence[UUID]) -> Session:
        """Return a session for writing of some trees, which plans them alone. Raises Refusal where one is not there."""
        session = self.fresh()
        known = {tree.id: tree for tree in session.trees}
        if not tree_ids or not known.keys() >= set(tree_ids):
            raise Refusal(
                "a tree of this form is not in the garden any more; right would be the page as it is now"
            )
        return session.part([tree for tree in session.trees if tree.id in set(tree_ids)])

    @property
    def has_htmx(self) -> bool:
        """Tell whether a part of a page is asked for, not a page."""
        return self.request.headers.get("hx-request") == "true"

    def may(self, role: Role) -> bool:
        """Tell whether who asks may do what a role may."""
        return ROLES.index(self.role) >= ROLES.index(role)


def site_of(request: Request) -> Site:
    """Return the site that is asked."""
    site: Site = request.app.state.site
    return site


def visit_of(request: Request) -> Visit:
    """Return who asks. Raises NoEntryError where nobody may without a key."""
    site = site_of(request)
    secret = request.cookies.get(COOKIE) or secrets.token_urlsafe(24)
    role = site.role_of(secret, bearer_of(request), from_outside=is_passed_on(request))
    if role is None:
        raise NoEntryError("reader", None)
    return Visit(request, site, role, secret)


def is_passed_on(request: Request) -> bool:
    """Tell whether somebody on this machine passes a question on for others, so that it is not this machine that asks.

    One that adds no header shows itself by HTTP/1.0, which nginx speaks where nothing is set, and no browser does.
    """
    return request.scope.get("http_version") == "1.0" or any(name in request.headers for name in PASSED_ON)


def bearer_of(request: Request) -> str:
    """Return the key that a program shows, "" where it shows none (RFC 6750)."""
    kind, _, key = request.headers.get("authorization", "").partition(" ")
    return key.strip() if kind.lower() == "bearer" else ""


def _needs(role: Role) -> object:
    """Return what lets in who has a role; from forms it demands the mark as well."""

    def known(request: Request) -> Visit:  # reads the database, so not where all connections are served
        visit = visit_of(request)
        if not visit.may(role):
            raise NoEntryError(role, visit.role)
        return visit

    async def let_in(visit: Visit = Depends(known)) -> Visit:  # noqa: B008 - how FastAPI is told
        if visit.request.method not in ("GET", "HEAD"):
            await _check(visit)
        return visit

    return Depends(let_in)


async def _check(visit: Visit) -> None:
    """Raise ForgedError for a form without its mark."""
    brought = visit.request.headers.get("x-leafclock-token", "")
    if not brought:
        brought = str((await visit.request.form()).get(TOKEN, ""))
    if COOKIE not in visit.request.cookies or not hmac.compare_digest(brought.encode(), visit.token.encode()):
        raise ForgedError


Reader = Annotated[Visit, _needs("reader")]
Worker = Annotated[Visit, _needs("worker")]
Owner = Annotated[Visit, _needs("owner")]
