"""The ways warnings reach people: ``channel``."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from calendar_core.app.plan.line_names import short
from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.options import Db, GardenName, Json
from calendar_core.app.shell.output import columns, print_json, say, tell
from calendar_core.app.shell.session import open_session
from calendar_core.app.warnings.channel_changes import (
    KINDS,
    add_channel,
    channel_line,
    channel_named,
    channels_of,
    quiet_of,
    remove_channel,
    set_quiet,
    switch_off,
    switch_on,
    try_channel,
    waiting_messages,
    why_waiting,
)
from calendar_core.app.warnings.mailing import HELP, leads_to
from calendar_core.wording.warnings.judged_text import CHANNELS

channel_app = typer.Typer(
    help=f"The ways warnings reach people. {HELP}", no_args_is_help=True, rich_markup_mode=None
)
TYPED = "-"
LONGEST_ADDRESS = 2000  # signs; more is no address (estimate)

Name = Annotated[str, typer.Argument(metavar="NAME", help="As printed by: leafclock channel list.")]
Quiet = Annotated[
    str | None,
    typer.Option(
        metavar="HH:MM-HH:MM",
        help="Hours without messages, but for danger that begins before they end; or none.",
    ),
]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.add_typer(channel_app, name="channel")


@channel_app.command("add")
def channel_add(
    kind: Annotated[str, typer.Argument(help=f"One of: {', '.join(KINDS)}.")],
    address: Annotated[
        str,
        typer.Argument(
            help="A mail address, an https address, or an address as Apprise writes it for one target; "
            "- reads it from standard input, so that a secret in it stays out of the shell's history."
        ),
    ],
    person: Annotated[str | None, typer.Option(help="Whom it reaches.")] = None,
    quiet: Quiet = None,
    private: Annotated[
        bool,
        typer.Option(
            "--private", help="Allow an address on this machine or its network, a web hook also without TLS."
        ),
    ] = False,
    while_away: Annotated[
        bool,
        typer.Option(
            "--while-away", help="Use it only on days written down with leafclock away: for a helper."
        ),
    ] = False,
    db: Db = None,
    garden: GardenName = None,
) -> None:
    """Add a channel; try it with: leafclock channel test."""
    session = open_session(db, garden, None)
    added = add_channel(
        session, kind, _address(address), person=person, quiet=quiet, private=private, while_away=while_away
    )
    tell(added.receipt)
    if added.secret:
        say(session.style.say(CHANNELS["secret"]))
        say(added.secret)


@channel_app.command("list")
def channel_list(db: Db = None, garden: GardenName = None, as_data: Json = False) -> None:
    """List the channels, without what is secret of them."""
    session = open_session(db, garden, None)
    found, waiting = channels_of(session), waiting_messages(session)
    if as_data:
        print_json(
            [
                {
                    "id": channel.id,
                    "name": short(channel.id),
                    "kind": channel.kind,
                    "address": leads_to(channel),
                    "person": channel.person,
                    "quiet_from": channel.quiet_from,
                    "quiet_to": channel.quiet_to,
                    "why_off": channel.why_off,
                    "failing_since": channel.failing_since,
                    "why_failing": channel.why_failing,
                    "while_away": channel.while_away,
                    "waiting": len(waiting[channel.id]),
                    "why_waiting": why_waiting(waiting[channel.id]),
                }
                for channel in found
            ]
        )
        return
    if not found:
        say(session.style.say(CHANNELS["none"]))
    columns(
        [
            (short(channel.id), channel.person, channel_line(session, channel, waiting[channel.id]))
            for channel in found
        ],
        indent=0,
    )


@channel_app.command("quiet")
def channel_quiet(
    name: Name,
    hours: Annotated[str, typer.Argument(metavar="HH:MM-HH:MM|none")],
    db: Db = None,
    garden: GardenName = None,
) -> None:
    """Set a channel's quiet hours."""
    quiet_of(hours)  # refused before a database is looked for
    session = open_session(db, garden, None)
    tell(set_quiet(session, channel_named(session, name), hours))


@channel_app.command("on")
def channel_on(name: Name, db: Db = None, garden: GardenName = None) -> None:
    """Use a channel again; what waits for it and is not too late is sent, and the warnings that stand."""
    session = open_session(db, garden, None)
    tell(switch_on(session, channel_named(session, name)))


@channel_app.command("off")
def channel_off(name: Name, db: Db = None, garden: GardenName = None) -> None:
    """Send nothing over a channel for the time being."""
    session = open_session(db, garden, None)
    tell(switch_off(session, channel_named(session, name)))


@channel_app.command("remove")
def channel_remove(name: Name, db: Db = None, garden: GardenName = None) -> None:
    """Forget a channel and its messages."""
    session = open_session(db, garden, None)
    tell(remove_channel(session, channel_named(session, name)))


@channel_app.command("test")
def channel_test(name: Name, db: Db = None, garden: GardenName = None) -> None:
    """Send a message over a channel now, and tell how it went."""
    session = open_session(db, garden, None)
    tell(try_channel(session, channel_named(session, name), utc_now))


def _address(given: str) -> str:
    """Return the address that is given, or typed."""
    return (sys.stdin.readline(LONGEST_ADDRESS) if given == TYPED else given).strip()
