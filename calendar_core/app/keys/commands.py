"""``key``: who may enter the pages."""

from __future__ import annotations

import sys
from getpass import getpass
from typing import Annotated

import typer

from calendar_core.app.keys.keys import list_keys, make_key, set_password, take_back
from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.options import Db, GardenName, Json
from calendar_core.app.shell.output import columns, print_json, say
from calendar_core.app.shell.session import open_session
from calendar_core.knowledge.words import ROLES
from calendar_core.wording.garden.key_text import KEYS

key_app = typer.Typer(
    help="Keys to the pages of leafclock serve.", no_args_is_help=True, rich_markup_mode=None
)


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.add_typer(key_app, name="key")


@key_app.command("add")
def key_add(
    role: Annotated[
        str,
        typer.Argument(
            help=f"What it allows: one of {', '.join(ROLES)}; each may do what those before it may."
        ),
    ],
    label: Annotated[str, typer.Argument(metavar="NAME", help="Whom or what it is for, such as 'my phone'.")],
    db: Db = None,
    garden: GardenName = None,
) -> None:
    """Make a key, and print it: it is shown this once."""
    session = open_session(db, garden, None)
    secret = make_key(session.store, session.garden.id, role, label, utc_now())
    say(session.style.say(KEYS["made"], role=role.lower().strip(), label=label))
    say(secret)


@key_app.command("list")
def key_list(db: Db = None, garden: GardenName = None, as_data: Json = False) -> None:
    """List the keys; what opens is not stored, so it is not shown."""
    session = open_session(db, garden, None)
    found = list_keys(session.store, session.garden.id)
    if as_data:
        print_json(
            [
                {"label": key.label, "role": key.role, "kind": key.kind, "created_at": key.created_at}
                for key in found
            ]
        )
        return
    if not found:
        say(session.style.say(KEYS["none"]))
    columns([(key.label, key.role, key.created_at.date().isoformat()) for key in found], indent=0)


@key_app.command("revoke")
def key_revoke(
    label: Annotated[str, typer.Argument(metavar="NAME", help="As printed by: leafclock key list.")],
    db: Db = None,
    garden: GardenName = None,
) -> None:
    """Take a key back; whoever entered with it has to go."""
    session = open_session(db, garden, None)
    key = take_back(session.store, session.garden.id, label)
    say(session.style.say(KEYS["revoked"], label=key.label))


@key_app.command("password")
def key_password(db: Db = None, garden: GardenName = None) -> None:
    """Set the owner's password: typed twice, or one line of standard input."""
    session = open_session(db, garden, None)
    if sys.stdin.isatty():
        words = session.style.say
        password = getpass(words(KEYS["ask"]))
        if getpass(words(KEYS["again"])) != password:
            raise Refusal("the two do not match; right would be the same twice")
    else:
        password = sys.stdin.readline().rstrip("\r\n")
    set_password(session.store, session.garden.id, password, utc_now())
    say(session.style.say(KEYS["password"]))
