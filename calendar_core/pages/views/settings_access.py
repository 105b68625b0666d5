"""Settings of who enters, who reads and who is told: keys, calendar addresses, channels; and a copy of all."""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal
from uuid import UUID

from fastapi import APIRouter, Form
from starlette.background import BackgroundTask
from starlette.responses import FileResponse, Response

from calendar_core.app.calendar.addresses import make_address, revoke_address
from calendar_core.app.keys.keys import (
    enter,
    key_shown,
    list_keys,
    make_key,
    password_known,
    set_password,
    take_back,
)
from calendar_core.app.plan.line_names import short
from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.receipt import Receipt
from calendar_core.app.warnings.channel_changes import (
    add_channel,
    channel_named,
    remove_channel,
    set_quiet,
    switch_off,
    switch_on,
    try_channel,
)
from calendar_core.pages.shell.access import Owner, Visit
from calendar_core.pages.shell.answering import give_secret, page, told
from calendar_core.pages.shell.site import HERE
from calendar_core.pages.views.settings_page import Entered, show, tried
from calendar_core.planning.events import KINDS, CalendarOf
from calendar_core.publishing.sheets.codes import qr_svg
from calendar_core.storage.copies import back_up, sqlite_file
from calendar_core.wording.pages.settings_text import ACCESS
from calendar_core.wording.plan.calendar_text import KIND_NAMES

if TYPE_CHECKING:
    from collections.abc import Sequence

router = APIRouter()


@dataclass(frozen=True)
class Once:
    """What is shown once: what it is, the secret itself, a link to open it by, a code of it, and how it is used."""

    what: str
    secret: str
    how: str
    link: str = ""
    code: str = ""


def _shown_once(visit: Visit, once: Once, back: str, lines: Sequence[str] = ()) -> Response:
    return page(
        visit, "once.html", title="Shown this once", current="settings", once=once, back=back, lines=lines
    )


# Keys


@router.post("/settings/key", include_in_schema=False)
def key(visit: Owner, role: Annotated[str, Form()] = "", label: Annotated[str, Form()] = "") -> Response:
    """Make a key, and show it once; whoever makes the first one enters with it, else they would be shut out."""
    store, garden = visit.site.store, visit.garden
    is_first = not list_keys(store, garden.id)
    try:
        _check_first(role, is_first=is_first)
        secret = make_key(store, garden.id, role, label, utc_now())
    except Refusal as refusal:
        return show(visit, Entered("key", {"role": role, "label": label}, refusal.lines))
    say = visit.session.style.say
    once = Once(say(ACCESS["key"], role=role, label=label), secret, say(ACCESS["key_how"]))
    if not is_first:
        return _shown_once(visit, once, "/settings#keys")
    _entered(visit, secret)
    answer = _shown_once(visit, once, "/settings#keys", [say(ACCESS["you_too"])])
    give_secret(visit.request, answer, visit.secret)
    return answer


def _check_first(role: str, *, is_first: bool) -> None:
    """Raise Refusal for a first key with which nobody could change anything any more."""
    if is_first and role != "owner":
        raise Refusal(
            "there is no key yet, and from this one on each needs one; right would be the owner's first"
        )


@router.post("/settings/password", include_in_schema=False)
def password(
    visit: Owner, password: Annotated[str, Form()] = "", again: Annotated[str, Form()] = ""
) -> Response:
    """Set the owner's password; this browser stays."""
    try:
        _set(visit, password, again)
    except Refusal as refusal:
        return show(visit, Entered("password", {}, refusal.lines))
    _entered(visit, password)
    answer = told(visit, [visit.session.style.say(ACCESS["password"])], back="/settings#keys")
    give_secret(visit.request, answer, visit.secret)
    return answer


def _set(visit: Visit, password: str, again: str) -> None:
    if password != again:
        raise Refusal("the two passwords do not match; right would be the same twice")
    set_password(visit.site.store, visit.garden.id, password, utc_now())


def _entered(visit: Visit, secret: str) -> None:
    """Let this browser in with what it has just made."""
    store, garden_id = visit.site.store, visit.garden.id
    found = key_shown(store, garden_id, secret) or password_known(store, garden_id, secret)
    assert found is not None  # noqa: S101 - it was just made
    visit.secret = enter(visit.site.store, found, utc_now())


@router.post("/settings/key/revoke", include_in_schema=False)
def key_revoke(visit: Owner, label: Annotated[str, Form()] = "") -> Response:
    """Take a key back."""

    def write() -> Receipt:
        store, garden = visit.site.store, visit.garden
        others = [each for each in list_keys(store, garden.id) if each.label != label]
        if others and all(each.role != "owner" for each in others):
            raise Refusal(
                f"'{label}' is the last key of an owner, and others have keys; right would be another for the owner first"
            )
        gone = take_back(store, garden.id, label)
        return Receipt((visit.session.style.say(ACCESS["revoked"], label=gone.label),))

    return tried(visit, "keys", {}, "keys", write)


# Calendars


@router.post("/settings/address", include_in_schema=False)
def address(
    visit: Owner,
    kind: Annotated[str, Form()] = "",
    tree: Annotated[UUID | None, Form()] = None,
    label: Annotated[str, Form()] = "",
) -> Response:
    """Make a calendar's address, and show it once."""
    typed = {"kind": kind, "tree": str(tree or ""), "label": label}
    try:
        of = _calendar(kind, tree)
        made = make_address(visit.fresh(), of, label)
    except Refusal as refusal:
        return show(visit, Entered("address", typed, refusal.lines))
    plain, subscribed = made.links(str(visit.request.base_url))
    style = visit.session.style
    what = style.say(ACCESS["address"], calendar=style.translate(KIND_NAMES[of.kind]))
    once = Once(what, plain, style.say(ACCESS["address_how"]), subscribed, qr_svg(plain))
    is_here = visit.request.url.hostname in HERE
    return _shown_once(
        visit, once, "/settings#calendars", [style.say(ACCESS["address_here"])] if is_here else []
    )


def _calendar(kind: str, tree: UUID | None) -> CalendarOf:
    """Return which calendar is meant. Raises Refusal."""
    known = next((each for each in KINDS if each == kind), None)
    if known is None:
        raise Refusal(f"calendar '{kind}'; right would be one of {', '.join(KINDS)}")
    if known == "tree" and tree is None:
        raise Refusal("the season of one tree wants its tree; right would be one of the list")
    return CalendarOf(known, tree if known == "tree" else None)


@router.post("/settings/address/revoke", include_in_schema=False)
def address_revoke(visit: Owner, name: Annotated[str, Form()] = "") -> Response:
    """Revoke a calendar's address."""

    def write() -> Receipt:
        gone = revoke_address(visit.fresh(), name)
        visit.request.app.state.calendars.forget()
        return Receipt((visit.session.style.say(ACCESS["address_gone"], name=gone.label or short(gone.id)),))

    return tried(visit, "addresses", {}, "calendars", write)


# Channels


@router.post("/settings/channel", include_in_schema=False)
def channel(
    visit: Owner,
    kind: Annotated[str, Form()] = "",
    address: Annotated[str, Form()] = "",
    person: Annotated[str, Form()] = "",
    quiet: Annotated[str, Form()] = "",
    private: Annotated[str, Form()] = "",
    while_away: Annotated[str, Form()] = "",
) -> Response:
    """Add a channel; the secret that signs a web hook's messages is shown once."""
    typed = {
        "kind": kind, "address": address, "person": person, "quiet": quiet, "private": private, "while_away": while_away,
    }  # fmt: skip
    try:
        added = add_channel(
            visit.fresh(), kind, address.strip(), person=person.strip() or None, quiet=quiet.strip() or None,
            private=bool(private), while_away=bool(while_away),
        )  # fmt: skip
    except Refusal as refusal:
        return show(visit, Entered("channel", typed, refusal.lines))
    if not added.secret:
        return told(visit, added.receipt.lines, back="/settings#channels")
    say = visit.session.style.say
    once = Once(say(ACCESS["hook"]), added.secret, say(ACCESS["hook_how"]))
    return _shown_once(visit, once, "/settings#channels", added.receipt.lines)


@router.post("/settings/channel/change", include_in_schema=False)
def channel_change(
    visit: Owner,
    act: Annotated[Literal["on", "off", "test", "remove", "quiet"], Form()],
    name: Annotated[str, Form()] = "",
    quiet: Annotated[str, Form()] = "",
) -> Response:
    """Use a channel again or no more, try it, remove it, set its quiet hours."""

    def write() -> Receipt:
        session = visit.fresh()
        found = channel_named(session, name)
        match act:
            case "on":
                return switch_on(session, found)
            case "off":
                return switch_off(session, found)
            case "test":
                return try_channel(session, found, utc_now)
            case "remove":
                return remove_channel(session, found)
            case "quiet":
                return set_quiet(session, found, quiet.strip() or "none")

    return tried(visit, f"channel {name}", {"quiet": quiet}, "channels", write)


# A copy of all


@router.post("/settings/backup", include_in_schema=False)
def backup(visit: Owner) -> Response:
    """Hand out a copy of the whole database, made while it is in use."""
    engine = visit.site.store.engine
    database = sqlite_file(engine.url.render_as_string(hide_password=True), ACCESS["pg_dump"])
    folder = Path(tempfile.mkdtemp(prefix="leafclock-"))
    file = folder / f"leafclock-{visit.session.today.isoformat()}.db"
    try:
        back_up(database, file)
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    return FileResponse(
        file,
        media_type="application/vnd.sqlite3",
        filename=file.name,
        headers={"Cache-Control": "no-store"},
        background=BackgroundTask(shutil.rmtree, folder, ignore_errors=True),
    )
