"""``address``: secret addresses at which phones subscribe to calendars."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Annotated
from urllib.parse import urlsplit

import typer

from calendar_core.app.calendar.addresses import addresses_of, make_address, revoke_address
from calendar_core.app.calendar.commands.calendar import asked_kind
from calendar_core.app.plan.line_names import short
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.options import Db, GardenName, Json
from calendar_core.app.shell.output import columns, line, print_json, say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.planning.events import KINDS
from calendar_core.wording.plan.address_text import ADDRESSES, address_words

if TYPE_CHECKING:
    from calendar_core.storage.calendar_addresses import CalendarAddress

address_app = typer.Typer(
    help="Secret addresses at which phones subscribe to your calendars, from the machine that runs leafclock serve.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
SHOWN = ("kind", "tree_id", "label", "created_at", "last_used", "revoked_at")


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.add_typer(address_app, name="address")


@address_app.command("add")
def address_add(
    kind: Annotated[str, typer.Argument(help=f"One of: {', '.join(KINDS)}.")] = "work",
    label: Annotated[str, typer.Option(help="Whose it is, such as phone.")] = "",
    tree: Annotated[str | None, typer.Option(help="Whose season it is, of the kind tree.")] = None,
    at: Annotated[
        str | None,
        typer.Option(
            metavar="https://HOST",
            envvar="LEAFCLOCK_SERVED_AT",
            help="Where phones reach the service.",
            show_envvar=False,
        ),
    ] = None,
    db: Db = None,
    garden: GardenName = None,
) -> None:
    """Make an address; it is shown once, and whoever knows it can read that calendar and nothing else."""
    service = None if at is None else _service(at)
    session = open_session(db, garden, None)
    made = make_address(session, asked_kind(session, kind, tree), label)
    words = session.style.say
    say(words(ADDRESSES["made"], name=short(made.address.id), calendar=_row(session, made.address)))
    if service is None:
        line(made.path)
        say(words(ADDRESSES["path"]))
        return
    plain, subscribed = made.links(service)
    line(plain)
    line(subscribed)
    say(words(ADDRESSES["links"]))
    for text in _code(plain):
        line(text)


@address_app.command("list")
def address_list(db: Db = None, garden: GardenName = None, as_data: Json = False) -> None:
    """List addresses, without their secrets: what they are of, and when they were used last."""
    session = open_session(db, garden, None)
    found = addresses_of(session)
    if as_data:
        print_json([address_data(address) for address in found])
        return
    if not found:
        say(session.style.say(ADDRESSES["none"]))
    columns([(short(address.id), _row(session, address)) for address in found], indent=0)


@address_app.command("revoke")
def address_revoke(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help="As printed by: leafclock address list; or its label.")
    ],
    db: Db = None,
    garden: GardenName = None,
) -> None:
    """Revoke an address: nobody can read it any more, and calendar programs are told that it is gone for good."""
    session = open_session(db, garden, None)
    address = revoke_address(session, name)
    say(session.style.say(ADDRESSES["revoked"], name=short(address.id)))


def address_data(address: CalendarAddress) -> dict[str, object]:
    """Return an address as data, without what is known of its secret."""
    names = {"id": address.id, "name": short(address.id)}
    return {**names, **{name: getattr(address, name) for name in SHOWN}}


def _row(session: Session, address: CalendarAddress) -> str:
    tree = "" if address.tree_id is None else session.labels.get(address.tree_id, "")
    used = None if address.last_used is None else address.last_used.astimezone(session.zone).date()
    revoked = None if address.revoked_at is None else address.revoked_at.astimezone(session.zone).date()
    return address_words(session.style, address.kind, tree, address.label, used, revoked)


def _service(at: str) -> str:
    """Return where phones reach the service. Raises Refusal for what is no such address."""
    try:
        url = urlsplit(at)
        fits = url.scheme in ("http", "https") and bool(url.hostname) and url.port != 0
    except ValueError:  # brackets without an end, or a port that is none
        url, fits = urlsplit(""), False
    if not fits or url.username or url.query or url.fragment or not at.isprintable():
        raise Refusal("--at is no address of a service; right would be one such as https://HOST")
    return at


def _code(text: str) -> list[str]:
    """Return a code for a phone's camera as lines of a terminal."""
    import segno

    out = io.StringIO()
    segno.make(text, micro=False).terminal(out, compact=True)
    return out.getvalue().splitlines()
